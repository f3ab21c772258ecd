import type { SchemaStep } from './steps.ts';

/** Who signed together with the person of the record; null where one signature is enough. */
export const secondSignatures: SchemaStep = () => `
  alter table limits_versions add column second_person_id text;
  alter table plant_changes add column second_person_id text;
  alter table alarm_entries add column second_person_id text;
`;
