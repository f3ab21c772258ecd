/** An authenticator of our own, by RFC 4226 section 5.3 and RFC 6238, independent of the library that the server uses. */
import { createHmac } from 'node:crypto';
import { PASSWORD, type TestBrowser } from './support.ts';

const ALPHABET = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567';

/** RFC 4648 section 6. */
export function fromBase32(text: string): Buffer {
  const bits = [...text].map((sign) => ALPHABET.indexOf(sign).toString(2).padStart(5, '0')).join('');
  return Buffer.from((bits.match(/.{8}/g) ?? []).map((byte) => Number.parseInt(byte, 2)));
}

/** What the authenticator shows at a time in milliseconds. */
export function codeAt(secret: string, time: number): string {
  const counter = Buffer.alloc(8);
  counter.writeBigUInt64BE(BigInt(Math.floor(time / 30_000)));
  const mac = createHmac('sha1', fromBase32(secret)).update(counter).digest();
  const offset = mac.at(-1)! & 15;
  return String((mac.readUInt32BE(offset) & 0x7fff_ffff) % 1_000_000).padStart(6, '0');
}

/** Sets a second factor up; the code of this moment is used up by it. */
export async function setUpSecondFactor(browser: TestBrowser, password = PASSWORD) {
  const begun = await browser.call('POST /api/second-factor', { body: { current: password } });
  const secret: string = begun.secret;
  const code = codeAt(secret, browser.app.clock.time);
  await browser.call('PUT /api/second-factor', { body: { code } });
  return { secret, recoveryCodes: begun.recoveryCodes as string[] };
}
