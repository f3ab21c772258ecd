/** What every answer tells the browser to refuse on this server's behalf. */

/** `styles`: where style may come from besides nowhere. Scripts come from this server only. */
export const contentSecurityPolicy = (styles: string): string =>
  [
    "default-src 'none'",
    "script-src 'self'",
    `style-src ${styles}`,
    "img-src 'self' data:",
    "font-src 'self'",
    "connect-src 'self'",
    "manifest-src 'self'",
    "base-uri 'none'",
    "form-action 'self'",
    "frame-ancestors 'none'",
  ].join('; ');

const policy = contentSecurityPolicy("'self'");

const always: Readonly<Record<string, string>> = {
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'same-origin',
  // No other site shares a window with the page, or shows anything from here.
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Permissions-Policy': 'camera=(), geolocation=(), microphone=(), payment=(), usb=()',
};

/** Once seen over https, a browser never again comes over plain http. */
const ONE_YEAR_HTTPS = 'max-age=31536000; includeSubDomains';

export function setSecurityHeaders(headers: Headers, https: boolean): void {
  if (!headers.has('Content-Security-Policy')) headers.set('Content-Security-Policy', policy);
  for (const [name, value] of Object.entries(always)) headers.set(name, value);
  if (https) headers.set('Strict-Transport-Security', ONE_YEAR_HTTPS);
  // What has nothing to say about being kept is not kept.
  if (!headers.has('Cache-Control')) headers.set('Cache-Control', 'no-store');
}
