import { describe, expect, test } from 'vitest';
import { runRuleNames, signalSentence } from '../../../src/index.ts';

const charts = [
  ['location', 'mean'],
  ['location', 'individual value'],
  ['spread', 'range'],
  ['spread', 'standard deviation'],
  ['spread', 'moving range'],
] as const;

describe('signalSentence', () => {
  test('is one plain sentence for every rule, chart and side', () => {
    const sentences = runRuleNames.flatMap((rule) =>
      charts.flatMap(([chart, statistic]) =>
        (['above', 'below', 'both'] as const).map((side) => signalSentence({ rule, chart, side, statistic })),
      ),
    );
    for (const sentence of sentences) {
      expect(sentence).toMatch(/^[A-Z][^.]*\.$/);
      expect(sentence).not.toMatch(/sigma|out of control|undefined|null/i);
    }
  });

  test('says which way the process went', () => {
    const sentence = (side: 'above' | 'below') =>
      signalSentence({ rule: 'one-beyond-three-sigma', chart: 'location', side, statistic: 'mean' });
    expect(sentence('above')).toBe(
      'The sample average is above its upper control limit: something has moved the process up.',
    );
    expect(sentence('below')).toBe(
      'The sample average is below its lower control limit: something has moved the process down.',
    );
  });

  test('counts the run that the setting asks for', () => {
    const base = { rule: 'run-on-one-side', chart: 'location', side: 'above', statistic: 'mean' } as const;
    expect(signalSentence(base)).toContain('The last nine sample averages');
    expect(signalSentence({ ...base, oneSideRunLength: 7 })).toContain('The last seven sample averages');
  });

  test.each([
    [{ rule: 'x' }, 'description.rule'],
    [{ statistic: 'median' }, 'description.statistic'],
  ])('%j is refused', (wrong, argument) => {
    const right = { rule: 'six-in-a-trend', chart: 'location', side: 'above', statistic: 'mean' };
    expect(() => signalSentence({ ...right, ...wrong } as never)).toThrowError(
      expect.objectContaining({ code: 'unknown-name', argument }),
    );
  });
});
