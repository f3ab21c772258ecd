import {
  capabilityHandlers,
  distributionsHandlers,
  normalityHandlers,
  processCapabilityHandlers,
  statisticalTestsHandlers,
} from './decision-cases.ts';
import { runCases } from './run-cases.ts';

runCases('capability', capabilityHandlers);
runCases('process-capability', processCapabilityHandlers, ({ id }) => id);
runCases('normality', normalityHandlers, ({ id }) => /anderson-darling$|shapiro$|moments$/.exec(id)?.[0] ?? id);
runCases('statistical-tests', statisticalTestsHandlers, ({ id }) => id);
runCases('distributions', distributionsHandlers);
