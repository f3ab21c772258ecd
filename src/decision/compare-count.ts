import { StatisticsError } from '../errors.ts';
import { binomialUpperTail } from '../numerics/binomial.ts';

/** Parts looked at, and how many of them were nonconforming. */
export interface Count {
  readonly inspected: number;
  readonly nonconforming: number;
}

/** A count against the stream's own recent history. */
export interface CountComparison {
  /** Recent samples compared with; those that were far above the others themselves are left out. */
  readonly samples: number;
  /** Share nonconforming that they make expected, between 0 and 1. */
  readonly share: number;
  /** Probability of at least this many nonconforming parts at that share. */
  readonly probability: number;
  readonly farAbove: boolean;
}

/** With fewer recent samples there is nothing to compare with. */
const fewestSamples = 5;
/** A count that is less probable than this is far above: under one false call in a thousand samples of a steady process. */
const improbable = 0.001;

/**
 * Is a count of nonconforming parts far above what the same stream has had recently? The probability of at least so
 * many parts at the pooled share of the recent samples (exact binomial upper tail), below 0.001 for "far above".
 * The share is (x + ½)/(n + 1), so that a history without any nonconforming part expects few and not none.
 *
 * A recent sample that is itself that far above all others is left out: one bad hour must not make the next one
 * look usual.
 *
 * This is no control chart: it calls for a sudden flood of bad parts, and overlooks a slow rise.
 *
 * @param count   the new sample; parts.
 * @param recent  samples before it, in any order, the new one not among them.
 * @returns       null where fewer than 5 recent samples are left to compare with.
 * @throws        StatisticsError `out-of-range` where a count is not whole, negative, above its parts inspected, or
 *                where nothing was inspected.
 *
 * Source: exact binomial test: Clopper and Pearson, Biometrika 26 (1934) 404-413. Half counts: Haldane, Annals of
 * Human Genetics 20 (1956) 309-311 (both cited from memory).
 *
 * @example
 * const quiet = Array.from({ length: 25 }, () => ({ inspected: 310, nonconforming: 1 }));
 * compareCount({ inspected: 310, nonconforming: 200 }, quiet);
 * // samples 25, share 0.00328…, farAbove true
 */
export function compareCount(count: Count, recent: readonly Count[]): CountComparison | null {
  check(count, 'count');
  recent.forEach((one, index) => {
    check(one, `recent.${index}`);
  });
  const all = total(recent);
  const usual = recent.filter((one) => {
    if (one.nonconforming === 0) return true;
    const others = {
      inspected: all.inspected - one.inspected,
      nonconforming: all.nonconforming - one.nonconforming,
    };
    return probabilityOf(one, others) >= improbable;
  });
  if (usual.length < fewestSamples) return null;
  const pooled = total(usual);
  const probability = probabilityOf(count, pooled);
  return {
    samples: usual.length,
    share: smoothedShare(pooled),
    probability,
    farAbove: probability < improbable,
  };
}

const total = (counts: readonly Count[]): Count => ({
  inspected: counts.reduce((sum, { inspected }) => sum + inspected, 0),
  nonconforming: counts.reduce((sum, { nonconforming }) => sum + nonconforming, 0),
});

const smoothedShare = ({ inspected, nonconforming }: Count) => (nonconforming + 0.5) / (inspected + 1);

const probabilityOf = ({ inspected, nonconforming }: Count, history: Count) =>
  binomialUpperTail(nonconforming, inspected, smoothedShare(history));

function check({ inspected, nonconforming }: Count, argument: string): void {
  const wrong = (field: string, value: number, message: string) => {
    throw new StatisticsError('out-of-range', `${argument}.${field}`, value, message);
  };
  if (!Number.isSafeInteger(inspected) || inspected < 1)
    wrong('inspected', inspected, 'Parts inspected must be a whole number from 1.');
  if (!Number.isSafeInteger(nonconforming) || nonconforming < 0 || nonconforming > inspected)
    wrong(
      'nonconforming',
      nonconforming,
      'Parts nonconforming must be a whole number up to the parts inspected.',
    );
}
