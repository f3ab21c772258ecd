// Stryker's door to the bundled tests. The process loads them once; a mutant is then a switch in the loaded code and
// a run of the tests that reach it, those of its folder first and the shortest first, up to the first that fails. Stryker itself ends a process that
// does not come back, and starts another.
import { readFileSync, writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { INSTRUMENTER_CONSTANTS } from '@stryker-mutator/api/core';
import { commonTokens, declareClassPlugin, PluginKind, tokens } from '@stryker-mutator/api/plugin';
import {
  DryRunStatus,
  determineHitLimitReached,
  TestStatus,
  toMutantRunResult,
} from '@stryker-mutator/api/test-runner';
import { share } from './sample.mjs';

/** A test that takes more steps, past places of drawn mutants, would be run hundreds of times: it is left out. */
const mostSteps = 60_000_000 * share;
/** What thousands of tests reach is tried by its own folder's tests and by the shortest of the others. */
const mostTests = 600;
/** The tests that take part, where not all shall: a pattern of their names, which begin with the file. */
const asked = new RegExp(process.env.MUTATION_TESTS ?? '');
/** How many steps each test took in the first run: another process has to know as well. */
const stepsFile = 'tests/mutation/steps.json';

/** Where the instrumented code looks for the mutant that is switched on. */
globalThis[INSTRUMENTER_CONSTANTS.NAMESPACE] ??= {};
const instruments = globalThis[INSTRUMENTER_CONSTANTS.NAMESPACE];

class InProcessTestRunner {
  static inject = tokens(commonTokens.logger);
  #bundle;
  #steps;

  constructor(log) {
    this.log = log;
  }

  /** Mutants of what is computed while the code loads are left out (ignoreStatic). */
  capabilities() {
    return { reloadEnvironment: true };
  }

  async init() {
    await this.#load();
  }

  /** A new query makes a new module: the same file, loaded afresh. */
  async #load() {
    const url = pathToFileURL(resolve('tests/reference/all-tests.mjs'));
    this.#bundle = await import(`${url}?${process.hrtime.bigint()}`);
  }

  async dryRun() {
    const { tests, reachedWhileLoading, startCounting, stopCounting, takeCounts } = this.#bundle;
    const results = [];
    const steps = {};
    const leftOut = [];
    const perTest = {};
    startCounting(mostSteps);
    for (const { id, run } of tests) {
      if (!asked.test(id)) continue;
      const start = performance.now();
      const failure = failureOf(run);
      const counted = takeCounts();
      if (failure === null) {
        steps[id] = counted.steps;
        perTest[id] = counted.perMutant;
      } else leftOut.push(`${id}: ${failure}`);
      const status = failure === null ? TestStatus.Success : TestStatus.Skipped;
      results.push({ id, name: id, status, timeSpentMs: performance.now() - start });
    }
    stopCounting();
    this.log.info(
      `${tests.length} tests, of which ${leftOut.length} are left out: too long, or failing without any mutant.\n${leftOut.join('\n')}`,
    );
    writeFileSync(stepsFile, JSON.stringify(steps));
    return {
      status: DryRunStatus.Complete,
      tests: results,
      mutantCoverage: { static: reachedWhileLoading, perTest },
    };
  }

  async mutantRun(options) {
    const { result, upset } = this.#run(options);
    if (!upset) return result;
    // Something is left of an earlier mutant, or a test draws on where another stopped: judge again from the start.
    await this.#load();
    return this.#run(options).result;
  }

  /** Runs the tests that reach a mutant; `upset` where one that fails does so without the mutant as well. */
  #run({ activeMutant, hitLimit, testFilter }) {
    this.#steps ??= JSON.parse(readFileSync(stepsFile, 'utf8'));
    const wanted = new Set(testFilter);
    const folder = activeMutant.fileName.replace(/^.*\/(src\/[^/]+\/).*$/, '$1');
    const isForeign = ({ id }) => (id.startsWith(folder) ? 0 : 1);
    const chosen = this.#bundle.tests
      .filter(({ id }) => wanted.has(id))
      .sort((one, other) => isForeign(one) - isForeign(other) || this.#steps[one.id] - this.#steps[other.id])
      .slice(0, mostTests);
    Object.assign(instruments, { activeMutant: activeMutant.id, hitCount: 0, hitLimit });
    const tests = [];
    let failing;
    for (const { id, run } of chosen) {
      const failureMessage = failureOf(run);
      const status = failureMessage === null ? TestStatus.Success : TestStatus.Failed;
      tests.push({ id, name: id, status, failureMessage, timeSpentMs: 0 });
      if (failureMessage === null) continue;
      failing = run;
      break;
    }
    const { hitCount } = instruments;
    Object.assign(instruments, { activeMutant: undefined, hitCount: undefined, hitLimit: undefined });
    return {
      result: toMutantRunResult(
        determineHitLimitReached(hitCount, hitLimit) ?? { status: DryRunStatus.Complete, tests },
      ),
      upset: failing !== undefined && failureOf(failing) !== null,
    };
  }
}

function failureOf(run) {
  try {
    run();
    return null;
  } catch (error) {
    return String(error?.message ?? error).slice(0, 500);
  }
}

/** Notes each mutant as it is tested, so that survivors can be read, and a broken run counted, before the end. */
class NotesReporter {
  #file = `${process.env.MUTATION_PLACE ?? 'dist/mutation'}/mutants.jsonl`;
  constructor() {
    writeFileSync(this.#file, '');
  }
  onMutantTested({ id, fileName, location, mutatorName, replacement, status, killedBy, static: isStatic }) {
    writeFileSync(
      this.#file,
      `${JSON.stringify({ id, fileName, location, mutatorName, replacement, status, killedBy, isStatic })}\n`,
      { flag: 'a' },
    );
  }
}

export const strykerPlugins = [
  declareClassPlugin(PluginKind.TestRunner, 'in-process', InProcessTestRunner),
  declareClassPlugin(PluginKind.Reporter, 'notes', NotesReporter),
];
