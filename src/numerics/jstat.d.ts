/** The functions of jstat that are used. */
declare module 'jstat' {
  const jStat: {
    readonly chisquare: {
      cdf(value: number, degreesOfFreedom: number): number;
      inv(probability: number, degreesOfFreedom: number): number;
    };
  };
  export default jStat;
}
