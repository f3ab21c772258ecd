/** Arbitrary measurements for property tests. */
import fc from 'fast-check';
import type { Subgroup } from '../../src/index.ts';

/** A reading near 10 mm in thousandths, as a gauge shows it. */
export const reading = fc.integer({ min: 9000, max: 11000 }).map((thousandths) => thousandths / 1000);

/** Subgroups of 0 … 6 readings, some missing. */
export const subgroup: fc.Arbitrary<Subgroup> = fc.array(fc.option(reading, { freq: 6 }), { maxLength: 6 });

/** A coarse standardised value: ties and values exactly on a line are common. */
export const coarseValue = fc.integer({ min: -8, max: 8 }).map((halves) => halves / 2);
