import type { DistributionName } from './fitted-distribution.ts';

/** What the user knows about how the characteristic comes about, before any value is looked at. */
export type Physics = 'bounded-at-zero' | 'position' | 'wear' | 'two-sided' | 'unknown';

export interface PhysicsKnowledge {
  /** Shapes that can come from it, the most natural first, each with the reason. */
  readonly shapes: readonly (readonly [distribution: DistributionName, why: string])[];
  /** How much better, in AICc, another shape has to be before it is preferred to a more natural one. */
  readonly preference: number;
  readonly sentence: string;
}

/**
 * Shapes by physics. Common practice of the trade, no source, but for the Rayleigh distribution of a distance from two
 * equal and independent normal coordinates (ISO 22514-2); a difference below 2 in AICc counts as none (K. P. Burnham
 * and D. R. Anderson, Model Selection and Multimodel Inference, 2nd edition, section 2.6, cited from memory).
 */
export const physicsKnowledge: Readonly<Record<Physics, PhysicsKnowledge>> = {
  'bounded-at-zero': {
    shapes: [
      ['folded-normal', 'The size of a deviation that scatters to both sides and is read without its sign.'],
      [
        'rayleigh',
        'The length of a deviation in two directions that scatter alike, such as an eccentricity.',
      ],
      [
        'weibull',
        'Bounded at zero, with a shape that follows the values; runout with several causes looks like it.',
      ],
      ['lognormal', 'Many small effects that multiply, with a long upper tail: burr, bead height.'],
      ['gamma', 'A sum of several small effects that are all above zero.'],
    ],
    preference: 2,
    sentence: 'The characteristic ends at zero, so only shapes that end there count.',
  },
  position: {
    shapes: [
      [
        'rayleigh',
        'The distance of a hole from its true place, when both coordinates scatter alike about it.',
      ],
      ['folded-normal', 'The distance when one direction does nearly all the scattering.'],
      ['weibull', 'A check on the Rayleigh distribution, which is the Weibull distribution of shape 2.'],
    ],
    preference: 10,
    sentence: 'A position deviation is the length of two coordinates.',
  },
  wear: {
    shapes: [],
    preference: 0,
    sentence:
      'Wear moves the level between tool changes, so no single distribution describes all values: the mixture depends on how far the wear went. Use a trend chart about the wear line, and a time-dependent distribution model of ISO 22514-2 for indices; a distribution can be fitted to the deviations from the trend.',
  },
  'two-sided': {
    shapes: [
      ['normal', 'Many small effects that add up, to both sides of a nominal value.'],
      ['johnson-su', 'As normal in the middle, with heavier or lopsided tails.'],
      ['johnson-sb', 'Two ends that the process cannot pass.'],
    ],
    preference: 6,
    sentence: 'The characteristic scatters to both sides of a nominal value.',
  },
  unknown: {
    shapes: [
      ['normal', 'Many small effects that add up.'],
      ['lognormal', 'Many small effects that multiply; values above zero.'],
      ['weibull', 'Values above zero, with a flexible shape.'],
      ['gamma', 'A sum of effects that are all above zero.'],
      ['rayleigh', 'The length of a deviation in two directions that scatter alike.'],
      ['folded-normal', 'The size of a deviation that scatters to both sides.'],
      ['exponential', 'The wait for an event that comes at a steady rate.'],
      ['johnson-su', 'Any values, with heavier or lopsided tails.'],
      ['johnson-sb', 'Values between two ends.'],
    ],
    preference: 2,
    sentence:
      'Nothing is said about how the characteristic comes about, so only the score speaks, and it says little about the tails: name the physics.',
  },
};
