/** What the commands of the console have in common: how they are asked, and how they say that they cannot. */
import { type ParseArgsConfig, parseArgs } from 'node:util';
import { BadSetting } from '../http/outside.ts';
import { ProblemError } from '../problem.ts';
import { DatabaseUnusable } from '../store/postgres-connection.ts';
import { CommandProblem } from './command-problem.ts';

/** It was asked in a way it does not understand. */
const MISUSED = 2;

type ParseArgsOptions = NonNullable<ParseArgsConfig['options']>;

interface Command<Options extends ParseArgsOptions> {
  /** As in `npm run <name>`. */
  readonly name: string;
  readonly help: string;
  readonly options: Options;
  /** How many words it takes beside its options. */
  readonly words: { readonly least: number; readonly most: number };
  /** What a refusal begins with; left out where each message says it. */
  readonly undone?: string;
  /** Code at the end when it was not done. */
  readonly undoneCode: number;
}

type Given<Options extends ParseArgsOptions> = ReturnType<typeof parseArgs<{ options: Options }>>['values'];

/** It was asked with words that do not belong together: shows how it is used. */
export class Misused extends Error {
  override readonly name = 'Misused';
}

/**
 * Runs one. Whatever was foreseen, and whatever the operating system or a database refuses, ends in a sentence; only
 * a mistake in the program itself shows where it happened.
 */
export async function runCommand<const Options extends ParseArgsOptions>(
  { name, help, options, words, undone, undoneCode }: Command<Options>,
  work: (values: Given<Options>, words: readonly string[]) => Promise<void>,
): Promise<void> {
  const end = (sentence: string, code: number): void => {
    process.stderr.write(`${sentence}\n`);
    // Worse may have been found before.
    process.exitCode ||= code;
  };
  const showHow = (): void => {
    process.stdout.write(help);
    process.exitCode = MISUSED;
  };
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: { ...options, help: { type: 'boolean' } },
    });
    if ('help' in values) process.stdout.write(help);
    else if (positionals.length > words.most) {
      const extra = JSON.stringify(positionals[words.most]);
      end(`There is a word too many: ${extra}. "npm run ${name} -- --help" shows how it is used.`, MISUSED);
    } else if (positionals.length < words.least) showHow();
    else await work(values as Given<Options>, positionals);
  } catch (error) {
    const wrong = misuse(error as Error);
    const told = wrong === null ? sentenceOf(error as Error) : null;
    if (error instanceof Misused) showHow();
    else if (wrong !== null) end(`${wrong} "npm run ${name} -- --help" shows how it is used.`, MISUSED);
    else if (told === null) throw error;
    else end(undone === undefined ? told : `${undone}: ${told}`, undoneCode);
  }
}

/** What is wrong with the options; null: something else is. */
function misuse({ code, message }: Error & { code?: string }): string | null {
  if (!code?.startsWith('ERR_PARSE_ARGS_')) return null;
  const option = /'([^']+)'/.exec(message)?.[1] ?? '';
  if (code === 'ERR_PARSE_ARGS_UNKNOWN_OPTION') return `There is no option ${option}.`;
  if (message.includes('does not take')) return `The option ${option} takes no value.`;
  return `The option ${option} needs its value after it.`;
}

/** null: nobody foresaw it. */
function sentenceOf(error: Error & { code?: unknown }): string | null {
  const { code, message } = error;
  if (/no such table/.test(message) || code === '42P01') {
    return 'The database holds no plant of this version: name another with DATA_DIR or DATABASE_URL, or start the server on it once, which brings an older plant up to date.';
  }
  const isForeseen =
    code !== undefined ||
    [CommandProblem, DatabaseUnusable, BadSetting, ProblemError].some((kind) => error instanceof kind);
  return isForeseen ? message : null;
}
