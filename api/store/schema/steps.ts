import { accounts } from './accounts.ts';
import { audit } from './audit.ts';
import { concessions } from './concessions.ts';
import { doors } from './doors.ts';
import { handovers } from './handovers.ts';
import { idempotency, idempotencyWithWork } from './idempotency.ts';
import { identities } from './identities.ts';
import { importFiles } from './import-files.ts';
import { keys } from './keys.ts';
import { lookups } from './lookups.ts';
import { outsideSamples } from './outside-samples.ts';
import { records } from './records.ts';
import { restarts } from './restarts.ts';
import { secondFactors } from './second-factors.ts';
import { secondSignatures } from './second-signatures.ts';
import { sessionDevices } from './session-devices.ts';

/** How an engine writes what differs between them. */
export interface ColumnTypes {
  /** A whole number that counts up by itself, and the primary key. */
  readonly counted: string;
  /** 64 bits. */
  readonly integer: string;
  /** Double precision. */
  readonly real: string;
  readonly bytes: string;
  /** Behind the columns of a table. */
  readonly strict: string;
  /** The same, for a narrow table that is always found by its primary key. */
  readonly strictByKey: string;
}

export type SchemaStep = (t: ColumnTypes) => string;

/** Steps from each schema to the next. A released step is never edited: what changes is a further step. */
export const schemaSteps: readonly SchemaStep[] = [
  records,
  outsideSamples,
  audit,
  keys,
  doors,
  lookups,
  accounts,
  secondSignatures,
  identities,
  idempotency,
  restarts,
  secondFactors,
  handovers,
  concessions,
  importFiles,
  idempotencyWithWork,
  sessionDevices,
];
