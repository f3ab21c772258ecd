/** Codes of authenticators: RFC 6238 over RFC 4226, as every authenticator knows them: six digits, 30 seconds, SHA-1. */
import { Secret, TOTP } from 'otpauth';

const PERIOD_SECONDS = 30;
/** Clocks differ, and people type slowly: one step to either side counts (RFC 6238 section 5.2). */
const STEPS_TO_EITHER_SIDE = 1;

/** 160 bits, as RFC 4226 section 4 recommends; in base32, as people type it. */
export const newAuthenticatorSecret = (): string => new Secret({ size: 20 }).base32;

/** What an authenticator reads from the picture. */
export const authenticatorAddress = (secret: string, label: string): string =>
  new TOTP({
    issuer: 'Runtrue',
    label,
    secret: Secret.fromBase32(secret),
    period: PERIOD_SECONDS,
  }).toString();

/** The time step that a code belongs to; null where it is none of now. */
export function stepOf(secret: string, code: string, now: number): number | null {
  const delta = TOTP.validate({
    token: code,
    secret: Secret.fromBase32(secret),
    period: PERIOD_SECONDS,
    timestamp: now,
    window: STEPS_TO_EITHER_SIDE,
  });
  return delta === null ? null : Math.floor(now / 1000 / PERIOD_SECONDS) + delta;
}
