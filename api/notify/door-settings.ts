/** The ways out and in that the server is started with. Addresses with passwords come from the environment alone. */
import { createHash } from 'node:crypto';
import { hostname } from 'node:os';
import { BadSetting } from '../http/outside.ts';
import { type AddressRule, addressRule } from './address-rule.ts';

export interface DoorSettings {
  readonly mail: { readonly url: string; readonly from: string } | null;
  readonly mqtt: { readonly url: string; readonly clientId: string; readonly topicPrefix: string } | null;
  readonly webhookRule: AddressRule;
}

type Environment = Readonly<Record<string, string | undefined>>;

/** What is wrong with an address is told without the address: it may hold a password. */
function addressOf(name: string, text: string, protocols: readonly string[]): string {
  const protocol = URL.canParse(text) ? new URL(text).protocol : '';
  if (protocols.includes(protocol)) return text;
  throw new BadSetting(
    `${name} must be an address that begins with ${protocols.map((p) => `${p}//`).join(' or ')}.`,
  );
}

function mailOf({ SMTP_URL, MAIL_FROM }: Environment): DoorSettings['mail'] {
  if (!SMTP_URL) return null;
  const url = addressOf('SMTP_URL', SMTP_URL, ['smtp:', 'smtps:']);
  if (!MAIL_FROM || !/^[^\r\n]*@[^\s@\r\n]+$/.test(MAIL_FROM)) {
    throw new BadSetting(
      'MAIL_FROM must be the address that mails come from, such as runtrue@plant.example.',
    );
  }
  return { url, from: MAIL_FROM };
}

function mqttOf(environment: Environment, dataFolder: string): DoorSettings['mqtt'] {
  const { MQTT_URL, MQTT_CLIENT_ID, MQTT_TOPIC_PREFIX } = environment;
  if (!MQTT_URL) return null;
  const url = addressOf('MQTT_URL', MQTT_URL, ['mqtt:', 'mqtts:', 'ws:', 'wss:']);
  const topicPrefix = MQTT_TOPIC_PREFIX || 'runtrue';
  if (!/^[A-Za-z0-9._-]+(\/[A-Za-z0-9._-]+)*$/.test(topicPrefix)) {
    throw new BadSetting('MQTT_TOPIC_PREFIX must be topic levels of letters, digits, dot, dash, underscore.');
  }
  // The broker keeps messages for this name, so it stays the same from start to start.
  const own = createHash('sha256').update(`${hostname()} ${dataFolder}`).digest('hex').slice(0, 12);
  return { url, clientId: MQTT_CLIENT_ID || `runtrue-${own}`, topicPrefix };
}

/** @throws BadSetting */
export function doorSettings(environment: Environment, dataFolder: string): DoorSettings {
  let webhookRule: AddressRule;
  try {
    webhookRule = addressRule(environment.WEBHOOK_NETWORKS ?? '');
  } catch (error) {
    throw new BadSetting(`WEBHOOK_NETWORKS must list addresses or subnets: ${(error as Error).message}.`);
  }
  return { mail: mailOf(environment), mqtt: mqttOf(environment, dataFolder), webhookRule };
}
