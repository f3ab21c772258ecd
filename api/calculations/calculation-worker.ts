/** A thread that calculates, so that the server goes on answering meanwhile. Gets { name, body }, answers one Answered each. */
import { readFileSync } from 'node:fs';
import { parentPort, workerData } from 'node:worker_threads';
import * as core from '../../src/index.ts';
import { knownProblem } from '../http/refusals.ts';
import { calculationAnswerer } from './answer-calculation.ts';
import type { Answered } from './calculation-threads.ts';

const answer = calculationAnswerer(JSON.parse(readFileSync(workerData.descriptionFile, 'utf8')), core);

function answered(name: string, body: string): Answered {
  try {
    return { result: answer(name, body) };
  } catch (error) {
    const problem = knownProblem(error as Error);
    return problem === null ? { fault: String((error as Error).stack) } : { problem };
  }
}

parentPort!.on('message', ({ name, body }: { name: string; body: string }) => {
  parentPort!.postMessage(answered(name, body));
});
