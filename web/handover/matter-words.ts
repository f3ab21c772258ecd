import type { OpenMattersOf } from '../../api/schemas.ts';

export const sectionWords: Record<OpenMattersOf, { readonly title: string; readonly none: string }> = {
  alarms: { title: 'Open alarms', none: 'no open alarm' },
  'shelved alarms': { title: 'Shelved alarms', none: 'none shelved' },
  'parts set apart': { title: 'Parts set apart, not released', none: 'no parts set apart' },
  restarts: { title: 'Restarts not approved', none: 'no restart waits' },
  stoppages: { title: 'Standing still', none: 'nothing stands' },
  'missed samples': { title: 'Samples late or not taken', none: 'no sample late or missed' },
  concessions: { title: 'Concessions that hold', none: 'no concession holds' },
  messages: { title: 'Messages and measurements stuck', none: 'no message stuck' },
};
