import type { Page } from 'playwright-core';

/** Answers for one form of Setup: label of the field → what to type, choose, or (for a list) tick. */
export type Answers = Readonly<Record<string, string | readonly string[]>>;

/** Adds one record through Setup, as a person does. */
export async function addRecord(page: Page, section: string, one: string, answers: Answers): Promise<void> {
  const details = page.locator('details', { has: page.getByRole('heading', { name: section, exact: true }) });
  if (!(await details.evaluate((element) => (element as HTMLDetailsElement).open))) {
    await details.locator('summary').click();
  }
  await details.getByRole('button', { name: `Add a ${one}` }).click();
  const dialog = page.getByRole('dialog', { name: `Add a ${one}` });
  for (const [label, answer] of Object.entries(answers)) {
    if (typeof answer !== 'string') {
      const group = dialog.getByRole('group', { name: label });
      await group.getByRole('checkbox').first().waitFor();
      for (const box of await group.getByRole('checkbox').all()) await box.setChecked(false);
      for (const choice of answer) await group.getByRole('checkbox', { name: choice }).setChecked(true);
      continue;
    }
    const control = dialog.getByLabel(label, { exact: true });
    if ((await control.evaluate((element) => element.tagName)) === 'SELECT')
      await control.selectOption(answer);
    else await control.fill(answer);
  }
  await dialog.getByRole('button', { name: 'Save' }).click();
  await dialog.waitFor({ state: 'detached' });
}
