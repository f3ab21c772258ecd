/** A time as the plant's clocks show it, to the minute: 2025-10-11 14:30. Sentences of the API name times like this. */
export const plantTime = (time: number, utcOffsetMinutes: number): string =>
  new Date(time + utcOffsetMinutes * 60_000).toISOString().slice(0, 16).replace('T', ' ');
