/** A real OpenID Connect provider on loopback, in which whoever is asked for signs in without a form. */
import { createSign, generateKeyPairSync, type KeyObject } from 'node:crypto';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { Provider } from 'oidc-provider';

export interface ProviderAccount {
  readonly email?: string;
  readonly email_verified?: boolean;
  readonly name?: string;
  readonly groups?: readonly string[];
}

export const CLIENT_SECRET = 'a-secret-that-only-the-two-servers-know';

/** Makes a JWT of these claims; a false one, where the key is not the provider's. */
export function signedToken(claims: object, key: KeyObject, kid: string): string {
  const part = (value: object): string => Buffer.from(JSON.stringify(value)).toString('base64url');
  const text = `${part({ alg: 'RS256', typ: 'JWT', kid })}.${part(claims)}`;
  return `${text}.${createSign('RSA-SHA256').update(text).sign(key, 'base64url')}`;
}

const claimsIn = (token: string): Record<string, unknown> =>
  JSON.parse(Buffer.from(token.split('.')[1]!, 'base64url').toString());

export async function startIdentityProvider(redirectUris: readonly string[]) {
  const { privateKey } = generateKeyPairSync('rsa', { modulusLength: 2048 });
  const accounts = new Map<string, ProviderAccount>();
  const state = {
    /** Who signs in next; null: they press cancel. */
    next: null as string | null,
    /** How they prove it. */
    proof: {} as { acr?: string; amr?: string[] },
    /** Changes what an ID token says before it is sent; the result is signed anew. */
    forge: null as ((claims: Record<string, unknown>) => string) | null,
    /** Answers nothing. */
    down: false,
  };
  let provider: Provider | null = null;

  const answer = async (incoming: IncomingMessage, outgoing: ServerResponse): Promise<void> => {
    if (state.down) {
      outgoing.destroy();
      return;
    }
    if (incoming.url?.startsWith('/interaction/')) {
      const result =
        state.next === null
          ? { error: 'access_denied', error_description: 'cancelled' }
          : { login: { accountId: state.next, ...state.proof } };
      await provider!.interactionFinished(incoming, outgoing, result);
      return;
    }
    if (incoming.url === '/token' && state.forge !== null) {
      const { forge } = state;
      const end = outgoing.end.bind(outgoing);
      outgoing.end = ((body: string | Buffer) => {
        const tokens = JSON.parse(String(body));
        const text = JSON.stringify({ ...tokens, id_token: forge(claimsIn(tokens.id_token)) });
        outgoing.setHeader('Content-Length', Buffer.byteLength(text));
        return end(text);
      }) as typeof outgoing.end;
    }
    await provider!.callback()(incoming, outgoing);
  };
  const server = createServer((incoming, outgoing) => {
    answer(incoming, outgoing).catch(() => outgoing.destroy());
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const issuer = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;

  const client = (client_id: string) => ({
    client_id,
    client_secret: CLIENT_SECRET,
    redirect_uris: [...redirectUris],
    grant_types: ['authorization_code'],
    response_types: ['code' as const],
  });
  provider = new Provider(issuer, {
    clients: [client('runtrue'), client('runtrue-slow')],
    jwks: {
      keys: [{ ...privateKey.export({ format: 'jwk' }), kid: 'one', use: 'sig', alg: 'RS256' } as never],
    },
    cookies: { keys: ['for tests only'] },
    acrValues: ['bronze', 'silver', 'gold'],
    pkce: { required: () => true },
    features: { devInteractions: { enabled: false } },
    claims: {
      openid: ['sub', 'groups', 'acr', 'amr'],
      email: ['email', 'email_verified'],
      profile: ['name'],
    },
    // A code of the second client is too old before anybody can use it.
    ttl: {
      AuthorizationCode: (_context, _code, { clientId }) => (clientId === 'runtrue-slow' ? 1 : 60),
      AccessToken: 60,
      IdToken: 60,
      Interaction: 60,
      Session: 60,
      Grant: 60,
    },
    interactions: { url: (_context, { uid }) => `/interaction/${uid}` },
    findAccount: (_context, sub) => ({ accountId: sub, claims: () => ({ sub, ...accounts.get(sub) }) }),
    loadExistingGrant: async (context) => {
      const { client: asking, session } = context.oidc;
      const grant = new provider!.Grant({ clientId: asking!.clientId, accountId: session!.accountId! });
      grant.addOIDCScope('openid email profile');
      await grant.save();
      return grant;
    },
  });

  return {
    issuer,
    accounts,
    state,
    privateKey,
    /** Follows the browser through the provider, until it is sent back; gives that address. */
    async visit(address: string): Promise<string> {
      const cookies = new Map<string, string>();
      let at = address;
      while (at.startsWith(issuer)) {
        const Cookie = [...cookies].map(([name, value]) => `${name}=${value}`).join('; ');
        const response = await fetch(at, { headers: { Cookie }, redirect: 'manual' });
        for (const line of response.headers.getSetCookie()) {
          const [, name = '', value = ''] = /^([^=]+)=([^;]*)/.exec(line) ?? [];
          cookies.set(name, value);
        }
        const next = response.headers.get('location');
        if (next === null) throw new Error(`The provider stopped at ${at}: ${await response.text()}`);
        at = new URL(next, at).href;
      }
      return at;
    },
    close: () =>
      new Promise<void>((done) => {
        server.close(() => done());
        server.closeAllConnections();
      }),
  };
}
export type IdentityProvider = Awaited<ReturnType<typeof startIdentityProvider>>;
