import type { Logger } from 'pino';
import type { Backups } from './backup/backups.ts';
import type { Calculations } from './calculations/calculation-processes.ts';
import type { Clock } from './clock.ts';
import type { Outside } from './http/outside.ts';
import type { RateLimiters } from './http/rate-limits.ts';
import type { Imports } from './imports/imports.ts';
import type { Keys } from './keys/keys.ts';
import type { Metrics } from './metrics/metrics.ts';
import type { Monitoring } from './monitoring/monitoring.ts';
import type { ChangeFeed } from './notify/change-feed.ts';
import type { Provider } from './oidc/provider.ts';
import type { Sealing } from './sealing.ts';
import type { SignIn } from './sign-in/sign-in.ts';
import type { Store } from './store/store.ts';
import type { Identify } from './who.ts';

/** What the app is built from. It opens nothing and reads no environment by itself. */
export interface AppParts {
  readonly store: Store;
  readonly monitoring: Monitoring;
  readonly imports: Imports;
  readonly keys: Keys;
  /** For secrets that have to be read again. */
  readonly sealing: Sealing;
  readonly metrics: Metrics;
  readonly outside: Outside;
  /** null: people sign in here only. */
  readonly provider: Provider | null;
  readonly limiters: RateLimiters;
  /** Which ways out are set up, and the begin of every topic; null: no broker. */
  readonly doors: { readonly mail: boolean; readonly topicPrefix: string | null };
  /** Who acts, for each request. */
  readonly identify: Identify;
  /** null: nobody has to prove who they are. */
  readonly signIn: SignIn | null;
  /** null: none is offered. */
  readonly calculations: Calculations | null;
  readonly backups: Backups;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
  readonly log: Logger;
  readonly version: string;
  /** The plant is made up; the page says so. */
  readonly demo: boolean;
  /** Folder of the built page; null: API only. */
  readonly webFolder: string | null;
  /** Aborted when the server stops, so that event streams end. */
  readonly stopping: AbortSignal;
}
