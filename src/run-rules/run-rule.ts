/** The eight published run rules, by what they see. Options for their lengths are in RunRuleSettings. */
export const runRuleNames = [
  'one-beyond-three-sigma',
  'two-of-three-beyond-two-sigma',
  'four-of-five-beyond-one-sigma',
  'run-on-one-side',
  'six-in-a-trend',
  'fourteen-alternating',
  'fifteen-within-one-sigma',
  'eight-outside-one-sigma',
] as const;

export type RunRuleName = (typeof runRuleNames)[number];

export interface RunRuleSettings {
  readonly rules: readonly RunRuleName[];
  /** Points for 'run-on-one-side': 7, 8 or 9. Default 9. */
  readonly oneSideRunLength?: 7 | 8 | 9;
  /** 'eight-outside-one-sigma' asks for points on both sides of the center line. Default false. */
  readonly outsideMustBeOnBothSides?: boolean;
}

/** A rule has fired at a point. */
export interface RunRuleSignal {
  readonly rule: RunRuleName;
  /** 0-based index of the point that completes the pattern. */
  readonly index: number;
  /** 0-based indices of the points the signal stands on, oldest first, `index` included. */
  readonly points: readonly number[];
  readonly side: 'above' | 'below' | 'both';
}
