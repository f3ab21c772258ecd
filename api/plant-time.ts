/** A time as the plant's clocks show it, to the minute: 2025-10-11 14:30. Sentences of the API name times like this. */
export const plantTime = (time: number, utcOffsetMinutes: number): string =>
  new Date(time + utcOffsetMinutes * 60_000).toISOString().slice(0, 16).replace('T', ' ');

/** When a day of the plant is over: the first moment of the next one. */
export const endOfDay = (day: string, utcOffsetMinutes: number): number =>
  Date.parse(`${day}T00:00:00Z`) + 24 * 3_600_000 - utcOffsetMinutes * 60_000;
