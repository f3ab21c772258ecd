/** A count as people type it; null where it is none. */
export const wholeNumber = (text: string): number | null =>
  /^\d{1,9}$/.test(text.trim()) && Number(text) > 0 ? Number(text) : null;
