/** What a verdict on outliers means, in one plain sentence. */
export function outlierAdvice(outliers: number): string {
  return outliers === 0
    ? 'No reading stands out further than chance explains.'
    : 'An outlier is a question about the reading (the part, the gauge, the entry), never a reason to delete it silently: find its cause, and record what was done and why.';
}
