/**
 * The two cookies: the session of a person, and the registration of a browser that stands at a station. No script can
 * read them (HttpOnly), no other site can send them (SameSite=Strict), and over https they never travel in the clear
 * (Secure, with the __Host- prefix that keeps other hosts from planting one; RFC 6265bis, section 4.1.3, from memory).
 */
export type CookieName = 'session' | 'station';

const nameOf = (name: CookieName, secure: boolean): string => `${secure ? '__Host-' : ''}runtrue-${name}`;

/** The page came over https: its browser says so in Origin, also where a proxy speaks plain http to this server. */
const cameOverHttps = (request: Request): boolean =>
  request.headers.get('origin')?.startsWith('https://') ?? false;

export function cookieOf(request: Request, name: CookieName): string | null {
  const cookies = new Map(
    (request.headers.get('cookie') ?? '').split(';').map((pair) => {
      const at = pair.indexOf('=');
      return [pair.slice(0, at).trim(), pair.slice(at + 1).trim()] as const;
    }),
  );
  return cookies.get(nameOf(name, true)) || cookies.get(nameOf(name, false)) || null;
}

export function setCookie(request: Request, name: CookieName, value: string, seconds: number): string {
  const secure = cameOverHttps(request);
  const attributes = [`Max-Age=${seconds}`, 'Path=/', 'HttpOnly', 'SameSite=Strict'];
  return [`${nameOf(name, secure)}=${value}`, ...attributes, ...(secure ? ['Secure'] : [])].join('; ');
}

export const clearCookie = (request: Request, name: CookieName): string => setCookie(request, name, '', 0);
