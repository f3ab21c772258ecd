import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

export const fuzzed: FuzzedFunctions = {
  andersonDarling: fc.tuple(anyNumbers),
  andersonDarlingPValue: fc.tuple(mostly(everydayNumber, anyNumber)),
  shapiroWilk: fc.tuple(anyNumbers),
  skewnessAndKurtosis: fc.tuple(anyNumbers),
};
