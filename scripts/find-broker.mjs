/** The program file of an MQTT broker that speaks version 5, or null. */
import { existsSync } from 'node:fs';

const places = ['/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto', '/opt/homebrew/sbin/mosquitto'];

export function findBroker() {
  const given = process.env.MOSQUITTO_PATH;
  return [given, ...places].find((place) => place !== undefined && existsSync(place)) ?? null;
}
