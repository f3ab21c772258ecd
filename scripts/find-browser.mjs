import { existsSync } from 'node:fs';
import { chromium } from 'playwright-core';

const usualPlaces = [
  process.env.CHROMIUM_PATH,
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

/** Path of a Chromium's program file, or null. @returns {string | null} */
export function findBrowser() {
  return [...usualPlaces, chromium.executablePath()].find((path) => path && existsSync(path)) ?? null;
}
