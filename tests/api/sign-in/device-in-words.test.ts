import { describe, expect, it } from 'vitest';
import { deviceInWords } from '../../../api/sign-in/device-in-words.ts';

/** As these browsers send them; from memory, of the shape that MDN describes under "User-Agent". */
const sent: readonly [string, string][] = [
  [
    'Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36',
    'Chromium on Linux',
  ],
  ['Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0', 'Firefox on Linux'],
  [
    'Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0',
    'Edge on Windows',
  ],
  [
    'Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 Mobile/15E148 Safari/604.1',
    'Safari on iPhone',
  ],
  [
    'Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Mobile Safari/537.36',
    'Chromium on Android',
  ],
  [
    'Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 Safari/605.1.15',
    'Safari on macOS',
  ],
];

describe('the device of a session', () => {
  it.each(sent)('%s', (userAgent, words) => {
    expect(deviceInWords(userAgent)).toBe(words);
  });
  it('is not said where the browser says nothing that is known, and no text of its sender is kept', () => {
    for (const userAgent of [null, '', 'curl/8.5.0', '<script>alert(1)</script>'])
      expect(deviceInWords(userAgent)).toBeNull();
    expect(deviceInWords('<b>Windows</b> Firefox/1 anything')).toBe('Firefox on Windows');
  });
});
