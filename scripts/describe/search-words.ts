/** Words that people in the trade look for and that the descriptions do not use, by what a description says. */
const tradeWords: readonly (readonly [pattern: RegExp, words: string])[] = [
  [/\bmeanAnd\w*Chart|subgroup means?\b/, 'xbar x-bar average chart'],
  [/nonconforming/i, 'ppm dpm defective reject scrap'],
  [/rayleigh|folded normal|position/i, 'runout eccentricity true position'],
  [/lognormal|weibull|skewness|box-cox|not normal/i, 'skewed lopsided non-normal'],
  [/control limit/i, 'ucl lcl'],
  [/specification limit|specification/i, 'usl lsl tolerance drawing'],
  [/moving range|individual/i, 'imr xmr single values'],
  [/run length/i, 'arl false alarm rate'],
  [/wear/i, 'tool life regrind'],
  [/gauge/i, 'repeatability measurement system'],
];

/** Everything that a search of the reference page looks through for one calculation. */
export function searchedWords(name: string, texts: readonly string[]): string {
  const text = [name, ...texts].join(' ');
  // Also by the parts of the name: "p chart" finds pChart.
  const parts = name.replace(/(?<=[a-z0-9])(?=[A-Z])/g, ' ');
  const trade = tradeWords.filter(([pattern]) => pattern.test(text)).map(([, words]) => words);
  return [parts, text, ...trade].join(' ').toLowerCase();
}
