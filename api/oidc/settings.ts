import { readFileSync } from 'node:fs';
import { BadSetting, type Outside } from '../http/outside.ts';
import { Role } from '../schemas.ts';

/** A provider of OpenID Connect where people of the plant have their accounts. */
export interface ProviderSettings {
  readonly issuer: URL;
  readonly clientId: string;
  /** null: a public client, which proves itself by PKCE alone. */
  readonly clientSecret: string | null;
  /** What the page calls it. */
  readonly name: string;
  /** Where it sends people back to. */
  readonly redirectUri: string;
  /** What is asked for besides `openid`. */
  readonly scopes: string;
  /** How strongly somebody has to have proven there who they are; any one of each list. Empty: as the provider likes. */
  readonly acr: readonly string[];
  readonly amr: readonly string[];
  /** Seconds since they last proved it there; null: as the provider likes. */
  readonly maxAge: number | null;
  /** The claim that says which roles somebody has; null: roles are set here. */
  readonly roles: {
    readonly claim: string;
    /** The first that fits counts. */
    readonly byValue: readonly (readonly [value: string, role: Role])[];
  } | null;
}

export const CALLBACK_PATH = '/api/sign-in/provider/callback';

type Environment = Readonly<Record<string, string | undefined>>;

function secretOf({ OIDC_CLIENT_SECRET: secret, OIDC_CLIENT_SECRET_FILE: file }: Environment): string | null {
  if (!file) return secret || null;
  if (secret) throw new BadSetting('Set OIDC_CLIENT_SECRET or OIDC_CLIENT_SECRET_FILE, not both.');
  try {
    return readFileSync(file, 'utf8').trim();
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new BadSetting(`OIDC_CLIENT_SECRET_FILE cannot be read (${code}): ${file}.`);
  }
}

function rolesOf({ OIDC_ROLE_CLAIM: claim, OIDC_ROLES: given }: Environment): ProviderSettings['roles'] {
  if (!claim && !given) return null;
  if (!claim || !given)
    throw new BadSetting('OIDC_ROLE_CLAIM and OIDC_ROLES belong together; set both or none.');
  const byValue = given.split(',').map((pair) => {
    const at = pair.lastIndexOf('=');
    const role = Role.safeParse(pair.slice(at + 1).trim());
    const value = pair.slice(0, Math.max(0, at)).trim();
    if (!role.success || value === '')
      throw new BadSetting(
        `OIDC_ROLES must list pairs such as plant-quality=tech with a role of ${Role.options.join(', ')}, not ${JSON.stringify(pair)}.`,
      );
    return [value, role.data] as const;
  });
  return { claim, byValue };
}

const listed = (text: string | undefined): string[] =>
  (text ?? '').split(/[\s,]+/).filter((one) => one !== '');

function maxAgeOf({ OIDC_MAX_AGE: minutes }: Environment): number | null {
  if (!minutes) return null;
  if (/^[1-9]\d{0,4}$/.test(minutes)) return Number(minutes) * 60;
  throw new BadSetting(`OIDC_MAX_AGE must be a whole number of minutes, not ${JSON.stringify(minutes)}.`);
}

const isLoopback = (url: URL): boolean => /^(?:localhost|127(?:\.\d+){3}|\[::1\])$/.test(url.hostname);

/** null: people sign in here only. @throws BadSetting */
export function providerSettings(environment: Environment, outside: Outside): ProviderSettings | null {
  const { OIDC_ISSUER: given, OIDC_CLIENT_ID: clientId, OIDC_NAME: name, OIDC_SCOPES: scopes } = environment;
  if (!given) return null;
  const issuer = URL.canParse(given) ? new URL(given) : null;
  if (
    issuer === null ||
    (issuer.protocol !== 'https:' && !(issuer.protocol === 'http:' && isLoopback(issuer)))
  )
    throw new BadSetting(`OIDC_ISSUER must be an https address, not ${JSON.stringify(given)}.`);
  if (!clientId)
    throw new BadSetting('OIDC_CLIENT_ID is missing: the name that the provider knows Runtrue by.');
  if (outside.address === null)
    throw new BadSetting('OIDC_ISSUER needs PUBLIC_URL: the address that the provider sends people back to.');
  return {
    issuer,
    clientId,
    clientSecret: secretOf(environment),
    name: name || issuer.host,
    redirectUri: new URL(CALLBACK_PATH, outside.address).href,
    scopes: scopes || 'email profile',
    acr: listed(environment.OIDC_ACR),
    amr: listed(environment.OIDC_AMR),
    maxAge: maxAgeOf(environment),
    roles: rolesOf(environment),
  };
}
