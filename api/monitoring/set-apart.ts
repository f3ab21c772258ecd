import type { AlarmEntryRow } from '../store/store.ts';

/** Somebody decided to set parts apart at an alarm, or counted them there: closing it lets them go. */
export const areSetApart = (entries: readonly AlarmEntryRow[]): boolean =>
  entries.some(({ kind, decision }) => kind === 'quarantined' || decision === 'stop-and-quarantine');
