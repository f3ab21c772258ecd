/** Browsers that also name those they descend from stand before them. */
const browsers: readonly [RegExp, string][] = [
  [/\bEdgA?(?:iOS)?\//, 'Edge'],
  [/\bOPR\//, 'Opera'],
  [/\bSamsungBrowser\//, 'Samsung Internet'],
  [/\b(?:Firefox|FxiOS)\//, 'Firefox'],
  [/\b(?:Headless)?Chrom(?:e|ium)\/|\bCriOS\//, 'Chromium'],
  [/\bVersion\/.*\bSafari\//, 'Safari'],
];
const systems: readonly [RegExp, string][] = [
  [/\bWindows\b/, 'Windows'],
  [/\bAndroid\b/, 'Android'],
  [/\biPhone\b/, 'iPhone'],
  [/\biPad\b/, 'iPad'],
  [/\bMacintosh\b/, 'macOS'],
  [/\bCrOS\b/, 'ChromeOS'],
  [/\bLinux\b/, 'Linux'],
];

/**
 * "Chromium on Linux", by which a person tells their sessions apart; nothing is decided by it. null where the browser
 * does not say. Only these words are kept, for the rest of a User-Agent is anybody's text.
 */
export function deviceInWords(userAgent: string | null): string | null {
  const found = (names: readonly [RegExp, string][]): string | null =>
    names.find(([pattern]) => pattern.test(userAgent ?? ''))?.[1] ?? null;
  const words = [found(browsers), found(systems)].filter((word) => word !== null);
  return words.length === 0 ? null : words.join(' on ');
}
