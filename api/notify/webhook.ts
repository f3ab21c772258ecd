import { createHmac, randomBytes } from 'node:crypto';
import { request as requestHttp } from 'node:http';
import { request as requestHttps } from 'node:https';
import { isIP } from 'node:net';
import { type AddressRule, guardedLookup } from './address-rule.ts';
import { NotDelivered } from './send-deliveries.ts';

const PREFIX = 'whsec_';

/** 24 to 64 random bytes, as the scheme asks. */
export const newSecret = (): string => PREFIX + randomBytes(32).toString('base64');

const keyOf = (secret: string): Buffer => Buffer.from(secret.slice(PREFIX.length), 'base64');

/** Is it a secret of the scheme? */
export function isSecret(secret: string): boolean {
  if (!/^whsec_[A-Za-z0-9+/]+={0,2}$/.test(secret)) return false;
  const { length } = keyOf(secret);
  return length >= 24 && length <= 64;
}

/**
 * The headers of the Standard Webhooks scheme (specification 1.0, from memory): HMAC-SHA256 over id, time and body;
 * one signature for each secret, so that a changed secret may be changed on the other side later.
 */
export function signedHeaders(
  id: string,
  time: number,
  body: string,
  secrets: readonly string[],
): Record<string, string> {
  const seconds = Math.floor(time / 1000);
  const content = `${id}.${seconds}.${body}`;
  return {
    'webhook-id': id,
    'webhook-timestamp': String(seconds),
    'webhook-signature': secrets
      .map((secret) => `v1,${createHmac('sha256', keyOf(secret)).update(content).digest('base64')}`)
      .join(' '),
  };
}

/** 410: the receiver says that it will never take one again. */
const GONE = 410;

/** Posts JSON; follows no redirect, for it could lead where the address rule forbids. */
export function postWebhook(
  address: string,
  headers: Readonly<Record<string, string>>,
  body: string,
  rule: AddressRule,
  signal: AbortSignal,
): Promise<void> {
  return new Promise((done, failed) => {
    const url = new URL(address);
    const host = url.hostname.replace(/^\[|\]$/g, '');
    if (isIP(host) !== 0) rule(host);
    const post = url.protocol === 'https:' ? requestHttps : requestHttp;
    const outgoing = post(
      url,
      {
        method: 'POST',
        headers: {
          ...headers,
          'Content-Type': 'application/json',
          'Content-Length': String(Buffer.byteLength(body)),
          'User-Agent': 'Runtrue',
        },
        lookup: guardedLookup(rule),
        signal,
        agent: false,
      },
      (answer) => {
        const status = answer.statusCode ?? 0;
        // What the receiver says beside its status is of no use to us.
        answer.destroy();
        if (status >= 200 && status < 300) return done();
        const isRedirect = status >= 300 && status < 400;
        const why = isRedirect ? 'a redirect, which is not followed' : `status ${status}`;
        failed(new NotDelivered(`The receiver answered with ${why}.`, status === GONE));
      },
    );
    outgoing.on('error', (error: NodeJS.ErrnoException) => {
      failed(
        error instanceof NotDelivered
          ? error
          : new NotDelivered(`Not reached (${error.code ?? error.name}).`),
      );
    });
    outgoing.end(body);
  });
}
