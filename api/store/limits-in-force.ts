import type { LimitsRow, Period } from './store.ts';

/**
 * The one rule of which version holds: at any time it is the highest version whose effectiveFrom has come. So a
 * version that has not begun yet gives way to a newer one that begins earlier, and stays in the record.
 */
export function limitsInForceAt<Version extends Pick<LimitsRow, 'version' | 'effectiveFrom'>>(
  versions: readonly Version[],
  at: number,
): Version | null {
  return versions.reduce<Version | null>(
    (found, version) =>
      version.effectiveFrom <= at && (found === null || version.version > found.version) ? version : found,
    null,
  );
}

/** When a higher version takes over; Infinity where none does. Not later than its beginning: it never held. */
export const endOfForce = (
  versions: readonly Pick<LimitsRow, 'version' | 'effectiveFrom'>[],
  { version }: Pick<LimitsRow, 'version'>,
): number =>
  Math.min(...versions.filter((other) => other.version > version).map((other) => other.effectiveFrom));

/** Versions in force at some time of the period, oldest first. */
export const limitsInForceDuring = (versions: readonly LimitsRow[], period: Period): LimitsRow[] =>
  versions.filter((version) => {
    const end = endOfForce(versions, version);
    return version.effectiveFrom <= period.to && end > period.from && end > version.effectiveFrom;
  });
