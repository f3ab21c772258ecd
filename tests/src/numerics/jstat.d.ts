/** The functions of jstat that are compared with. */
declare module 'jstat' {
  interface Continuous {
    cdf(value: number, ...parameters: number[]): number;
    inv(probability: number, ...parameters: number[]): number;
  }
  const jStat: {
    readonly chisquare: Continuous;
    readonly studentt: Continuous;
    readonly beta: Continuous;
    readonly centralF: Continuous;
    readonly gamma: Continuous;
    readonly noncentralt: Pick<Continuous, 'cdf'>;
    readonly tukey: Pick<Continuous, 'cdf'>;
    readonly poisson: Pick<Continuous, 'cdf'>;
    readonly binomial: Pick<Continuous, 'cdf'>;
  };
  export default jStat;
}
