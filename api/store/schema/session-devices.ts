import type { SchemaStep } from './steps.ts';

/** On what each session was begun, in a few words; null for those begun before. */
export const sessionDevices: SchemaStep = () => `
  alter table sessions add column device text;
`;
