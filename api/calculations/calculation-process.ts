/** Calculates, so that the server goes on answering meanwhile. Gets { name, body }, sends an Answered for each. */
import { readFileSync } from 'node:fs';
import * as core from '../../src/index.ts';
import { knownProblem } from '../http/refusals.ts';
import { calculationAnswerer } from './answer-calculation.ts';
import type { Answered } from './calculation-processes.ts';

const answer = calculationAnswerer(JSON.parse(readFileSync(process.argv[2]!, 'utf8')), core);

function answered(name: string, body: string): Answered {
  try {
    return { result: answer(name, body) };
  } catch (error) {
    const problem = knownProblem(error as Error);
    return problem === null ? { fault: String((error as Error).stack) } : { problem };
  }
}

process.on('message', ({ name, body }: { name: string; body: string }) =>
  process.send!(answered(name, body)),
);
// Ctrl-C reaches the whole group; the server says when to end, or is gone.
process.on('SIGINT', () => undefined);
process.on('disconnect', () => process.exit());
