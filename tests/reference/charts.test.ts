import {
  constantsHandlers,
  publishedChartsHandlers,
  publishedConstantsHandlers,
  runRulesHandlers,
  variablesChartsHandlers,
} from './chart-cases.ts';
import { runCases } from './run-cases.ts';

runCases('constants', constantsHandlers, () => 'constants');
runCases('control-chart-constants', publishedConstantsHandlers, () => 'published');
runCases('variables-charts', variablesChartsHandlers);
runCases('control-charts-variables', publishedChartsHandlers, ({ id }) => id);
runCases('run-rules', runRulesHandlers, () => 'run-rules');
