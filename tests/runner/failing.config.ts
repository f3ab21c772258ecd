import { mergeConfig } from 'vitest/config';
import usual from '../../vitest.config.ts';

/** The usual run of tests, with one that fails and no other. */
const config = mergeConfig(usual, {});
config.test!.include = ['tests/runner/fails.ts'];
export default config;
