/** Plant-local times in the page's date fields, and the period that a choice means. */

/** 2025-10-11T14:30, as a date field wants it. */
export const toLocalField = (time: string | number, utcOffsetMinutes: number): string =>
  new Date(new Date(time).getTime() + utcOffsetMinutes * 60_000).toISOString().slice(0, 16);

/** null where the field is empty or no time. */
export function fromLocalField(text: string, utcOffsetMinutes: number): string | null {
  const local = Date.parse(`${text}Z`);
  return Number.isNaN(local) ? null : new Date(local - utcOffsetMinutes * 60_000).toISOString();
}

/** What the address says about Review. */
export interface ReviewAddress {
  readonly streamId: string | null;
  readonly modelId: string | null;
  readonly from: string | null;
  readonly to: string | null;
}

const timeOrNull = (text: string | null): string | null =>
  text === null || Number.isNaN(Date.parse(text)) ? null : new Date(text).toISOString();

export function readAddress(search: string): ReviewAddress {
  const parameters = new URLSearchParams(search);
  return {
    streamId: parameters.get('stream'),
    modelId: parameters.get('model'),
    from: timeOrNull(parameters.get('from')),
    to: timeOrNull(parameters.get('to')),
  };
}

export function writeAddress(address: ReviewAddress): string {
  const parameters = new URLSearchParams();
  if (address.streamId !== null) parameters.set('stream', address.streamId);
  if (address.modelId !== null) parameters.set('model', address.modelId);
  if (address.from !== null) parameters.set('from', address.from);
  if (address.to !== null) parameters.set('to', address.to);
  return `?${parameters}`;
}
