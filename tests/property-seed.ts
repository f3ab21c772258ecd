/**
 * Property tests draw the same cases in every run, so that a red run can be repeated and a green one stays green.
 * PROPERTY_SEED=random (or a number) draws others: do that before a release.
 */
import fc from 'fast-check';

const asked = process.env.PROPERTY_SEED ?? '20261125';
if (asked !== 'random') fc.configureGlobal({ seed: Number(asked) });
