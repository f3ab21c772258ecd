/**
 * Lists in order of arrival. Whoever writes to a stream or records events does so alone until it is stored, so that
 * numbers become visible in their order: reading on after the last number misses nothing and gets nothing twice,
 * whatever arrives meanwhile.
 */

/** Entries in one answer where the caller asks for no other number. */
export const USUAL_PAGE = 100;

/** The header Link (RFC 8288) to what comes after a number, now or later. */
export function linkToNext(request: Request, after: number): string {
  const { pathname, searchParams } = new URL(request.url);
  searchParams.set('after', String(after));
  return `<${pathname}?${searchParams}>; rel="next"`;
}
