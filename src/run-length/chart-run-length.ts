import { requireName } from '../checks.ts';
import { type CusumRunLengthSettings, cusumRunLength } from './cusum-run-length.ts';
import { type EwmaRunLengthSettings, ewmaRunLength } from './ewma-run-length.ts';
import type { RunLengthOptions, RunLengthOutcome } from './run-length.ts';
import { type RunRulesRunLengthSettings, runRulesRunLength } from './run-rules-run-length.ts';

/** A chart of any kind whose run length is known. */
export type ChartScheme =
  | ({ readonly kind: 'run-rules' } & RunRulesRunLengthSettings)
  | ({ readonly kind: 'ewma' } & EwmaRunLengthSettings)
  | ({ readonly kind: 'cusum' } & CusumRunLengthSettings);

/** Run length of whichever kind of chart it is. An error names its fields as `settings.…`. */
export function chartRunLength(scheme: ChartScheme, options: RunLengthOptions): RunLengthOutcome {
  requireName(scheme.kind, ['run-rules', 'ewma', 'cusum'], 'settings.kind');
  switch (scheme.kind) {
    case 'run-rules':
      return runRulesRunLength(scheme, options);
    case 'ewma':
      return ewmaRunLength(scheme, options);
    case 'cusum':
      return cusumRunLength(scheme, options);
  }
}
