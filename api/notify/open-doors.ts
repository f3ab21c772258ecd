import type { Logger } from 'pino';
import type { Clock } from '../clock.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { type MqttDoor, openMqttDoor } from '../mqtt/mqtt-door.ts';
import type { Sealing } from '../sealing.ts';
import type { Store } from '../store/store.ts';
import type { ChangeFeed } from './change-feed.ts';
import type { DoorSettings } from './door-settings.ts';
import { startOutgoing } from './outgoing.ts';
import { mailSend, webhookSend } from './recipient-doors.ts';
import { createSender } from './send-deliveries.ts';

interface DoorParts {
  readonly settings: DoorSettings;
  readonly store: Store;
  readonly sealing: Sealing;
  readonly monitoring: Monitoring;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
  readonly log: Logger;
  /** No other node sends from the same database. */
  readonly alone: boolean;
}

export interface OpenDoors {
  /** There may be something to send. */
  wake(): void;
  /** Does the broker bring what is published? */
  isListening(): boolean;
  end(): Promise<void>;
}

/** Opens every door that is set up, and begins to send. */
export function openDoors({
  settings,
  store,
  sealing,
  monitoring,
  clock,
  feed,
  log,
  alone,
}: DoorParts): OpenDoors {
  const { mail, mqtt, webhookRule } = settings;
  let wake = (): void => {};
  const door: MqttDoor | null =
    mqtt === null ? null : openMqttDoor({ ...mqtt, store, monitoring, clock, log, wake: () => wake() });
  const doors = {
    webhook: webhookSend(store, sealing, clock, webhookRule),
    ...(mail === null ? {} : { mail: mailSend(store, mail) }),
    ...(door === null ? {} : { mqtt: door.send }),
  };
  const outgoing = startOutgoing({
    store,
    monitoring,
    clock,
    feed,
    log,
    alone,
    sendDue: createSender({ store, clock, doors, log }),
  });
  wake = outgoing.wake;
  return {
    wake,
    isListening: () => door?.isListening() ?? false,
    async end() {
      await Promise.all([outgoing.end(), door?.end()]);
    },
  };
}
