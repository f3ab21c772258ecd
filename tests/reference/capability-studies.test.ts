import { capabilityStudiesHandlers } from './capability-studies-cases.ts';
import { runCases } from './run-cases.ts';

runCases('capability-studies', capabilityStudiesHandlers);
