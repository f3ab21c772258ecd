/** A real Chromium for tests and benches. */
import axe from 'axe-core';
import { type Browser, chromium, type Page } from 'playwright-core';
import { findBrowser } from '../../scripts/find-browser.mjs';

export async function openBrowser(): Promise<Browser> {
  const executablePath = findBrowser();
  if (executablePath === null) throw new Error('No Chromium found: install Chromium or set CHROMIUM_PATH.');
  return chromium.launch({
    executablePath,
    // A busy machine takes its time to start a browser.
    timeout: 100_000,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

interface Finding {
  readonly id: string;
  readonly help: string;
  readonly nodes: readonly { readonly target: readonly unknown[]; readonly failureSummary?: string }[];
}

/** What axe holds against the page as it stands, WCAG 2.2 A and AA; empty when nothing. */
export async function accessibilityFindings(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const findings: readonly Finding[] = await page.evaluate(async () => {
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    const axe = (
      globalThis as unknown as { axe: { run: (context: Document, options: object) => Promise<unknown> } }
    ).axe;
    const result = await axe.run(document, { runOnly: { type: 'tag', values: tags } });
    return (result as { violations: Finding[] }).violations;
  });
  return findings.map(
    (finding) =>
      `${finding.id}: ${finding.help} at ${finding.nodes.map((node) => node.target.join(' ')).join(' | ')}`,
  );
}
