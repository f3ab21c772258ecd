/**
 * What a tech does at a signal, characteristic by characteristic. A step only ever says call, stop by the normal
 * control, segregate, or measure again. Everything else is for authorised people.
 */
import type { ReactionPlan } from '../api/schemas.ts';
import type { CharacteristicId } from './generator/baselines.ts';

const CONFIRM = '(confirm edition and local rules)';
const localRules =
  'Local law, site rules and authorised staff come before this plan. It advises; people stop, start and release.';
const lockout = `Nobody reaches into a roll stand, press or welder: that needs isolation and lockout (ISO 14118), stored energy released, and an authorised setter ${CONFIRM}.`;
const press = `Work on the die needs safety blocks in place and an authorised setter (ISO 16092 series) ${CONFIRM}.`;
const edges =
  'Wear cut-resistant gloves at burrs and strip edges, but no loose gloves near turning rolls or fixtures.';
const eyes = `Wear eye protection at the welder (ISO 16321) and keep the fume extraction running (ISO 21904) ${CONFIRM}.`;

const sameAgain = 'Measure the same piece again with the same gauge.';
const master = 'Measure the check standard of the gauge.';
const fresh = (count: string) => `Measure ${count} fresh pieces.`;
const apart = (what: string) => `Segregate ${what} made since the last good sample, and count them.`;
const callSupervisor = 'Call the shift supervisor.';
const stopAndCall = (whom: string) =>
  `If it is confirmed, stop the line by the normal control and call ${whom}.`;

const plan = (steps: readonly string[], cautions: readonly string[]): ReactionPlan => ({
  steps: [...steps],
  cautions: [...cautions, localRules],
});

export const reactionPlans: Readonly<Record<CharacteristicId, ReactionPlan>> = {
  C1: plan(
    [sameAgain, master, 'Call the shift supervisor and name the coil.', apart('the blanks of this coil')],
    [edges, lockout],
  ),
  C2: plan(
    [sameAgain, fresh('three'), apart('the hoops'), stopAndCall('the authorised welding setter')],
    [eyes, lockout, edges],
  ),
  C3: plan(
    [
      'Measure the rejected rims again in the tester.',
      apart('the rims'),
      stopAndCall('the authorised welding setter'),
    ],
    [eyes, lockout, 'Keep clear of rims under test pressure.'],
  ),
  C4: plan(
    [
      sameAgain,
      'Measure the check standard: a tape that reads long moves every model at once.',
      'Measure a rim that has cooled for half an hour, if the rim feels warm.',
      callSupervisor,
      apart('the rims'),
    ],
    [lockout, edges],
  ),
  C5: plan(
    [
      sameAgain,
      fresh('five'),
      'Call the shift supervisor; name the coil and the roll set.',
      apart('the rims'),
    ],
    [lockout, edges],
  ),
  C6: plan(
    [sameAgain, fresh('five'), apart('the rims'), stopAndCall('the authorised setter')],
    ['Keep hands, sleeves and gloves off the turning fixture.', lockout],
  ),
  C7: plan(
    [sameAgain, fresh('five'), apart('the wheels'), stopAndCall('the authorised setter')],
    ['Keep hands, sleeves and gloves off the turning fixture.', lockout],
  ),
  C8: plan(
    [
      'Measure the same disc again, at every hole.',
      'Measure three fresh discs of this lane and three of the other lane.',
      apart('the discs of this lane'),
      stopAndCall('the authorised die setter'),
      'Call the tool shop: every broken piece of an insert is accounted for before the press restarts.',
    ],
    [press, lockout, edges],
  ),
  C9: plan(
    [
      sameAgain,
      'Measure the check ring of the bore gauge, and look that the gauge stands on millimetres.',
      'Measure three fresh discs of this lane and three of the other lane.',
      callSupervisor,
      apart('the discs of this lane'),
    ],
    [press, lockout, edges],
  ),
  C10: plan(
    [
      'Measure the same disc again.',
      'Measure two fresh discs of this lane.',
      apart('the discs of this lane'),
      stopAndCall('the authorised die setter'),
    ],
    [press, lockout, edges],
  ),
  C11: plan(
    [
      sameAgain,
      'Measure two fresh discs of both lanes, and look for necking or splits at the draw radius.',
      'At any split or necking, stop the press by the normal control at once and call the shift supervisor.',
      apart('the discs of this lane'),
      stopAndCall('the authorised die setter'),
    ],
    [press, lockout, edges],
  ),
  C12: plan(
    [
      sameAgain,
      'Measure three fresh wheels; if one fits another model, segregate the whole trolley and call.',
      callSupervisor,
      apart('the wheels'),
    ],
    [lockout, 'Ask for no correction after a single sample: following every sample doubles the variation.'],
  ),
};
