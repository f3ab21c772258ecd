/** A sentence of the server, with its measured values written with a decimal comma. Names and times stay as they are. */
export const withDecimalComma = (sentence: string, unit: string): string =>
  sentence.replaceAll(/(\d)\.(\d+)(?=[\s\u00a0]([^\s\u00a0.,;:?!)]+))/g, (number, whole, decimals, word) =>
    word === unit ? `${whole},${decimals}` : number,
  );
