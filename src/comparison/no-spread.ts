import type { Unavailable } from '../errors.ts';

export const noSpread: Unavailable = {
  available: false,
  reason: 'no-variation',
  message: 'The readings show no variation to judge a difference by. Check that the gauge resolves it.',
};
