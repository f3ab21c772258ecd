// What a run has found so far: the score by folder, and the survivors to read. By itself it looks at a run that is
// still going on, or that was broken off.
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { isDrawn, share } from './sample.mjs';

export const notesFile = 'dist/mutation/mutants.jsonl';
const survivorsFile = 'dist/mutation/survivors.txt';

export function summarise(files = [notesFile]) {
  const mutants = files
    .flatMap((file) => readFileSync(file, 'utf8').split('\n'))
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line))
    .filter(({ id }) => isDrawn(id))
    .map((mutant) => ({ ...mutant, file: mutant.fileName.replace(/^.*?\/src\//, '') }));
  const folders = [...new Set(mutants.map(folderOf))].sort();
  console.log('| folder | mutants | noticed | score | without words | survived | not reached | left out |');
  console.log('| --- | --- | --- | --- | --- | --- | --- | --- |');
  for (const folder of folders)
    console.log(
      row(
        folder,
        mutants.filter((mutant) => folderOf(mutant) === folder),
      ),
    );
  console.log(row('all', mutants));
  console.log(`\n${reliability(mutants)}`);

  const survivors = mutants.filter(({ status }) => status === 'Survived' || status === 'NoCoverage');
  writeFileSync(survivorsFile, survivors.map(inWords).sort().join(''));
  console.log(`\nThe survivors: ${survivorsFile}`);
}

function folderOf({ file }) {
  return dirname(file);
}

/** Noticed: a test failed, or ran without end. Left out are mutants of what is computed while the code loads. */
function countOf(mutants) {
  const count = (...statuses) => mutants.filter(({ status }) => statuses.includes(status)).length;
  const noticed = count('Killed', 'Timeout');
  const survived = count('Survived');
  const unreached = count('NoCoverage');
  const all = noticed + survived + unreached;
  const score = all === 0 ? '-' : `${((100 * noticed) / all).toFixed(1)} %`;
  return { noticed, survived, unreached, all, score, leftOut: mutants.length - all };
}

function row(name, mutants) {
  const { noticed, survived, unreached, all, score, leftOut } = countOf(mutants);
  const wordless = countOf(mutants.filter(({ mutatorName }) => mutatorName !== 'StringLiteral'));
  return `| ${[name, all, noticed, score, wordless.score, survived, unreached, leftOut].join(' | ')} |`;
}

/** How far the score of a sample may be from that of all mutants (Wilson's interval, JASA 22, 1927). */
function reliability(mutants) {
  const { noticed, all } = countOf(mutants);
  if (share >= 1 || all === 0) return 'All mutants were tested.';
  const [p, z] = [noticed / all, 1.96];
  const middle = (p + (z * z) / (2 * all)) / (1 + (z * z) / all);
  const half = (z / (1 + (z * z) / all)) * Math.sqrt((p * (1 - p)) / all + (z / (2 * all)) ** 2);
  const [low, high] = [middle - half, middle + half].map((end) => (100 * end).toFixed(1));
  return `A sample of ${100 * share} %: with 95 % confidence the score of all mutants lies between ${low} % and ${high} %.`;
}

/** `file:line  what stood there  →  what stands there now`. */
function inWords({ file, fileName, location: { start, end }, replacement, status }) {
  const lines = readFileSync(fileName, 'utf8')
    .split('\n')
    .slice(start.line - 1, end.line);
  lines[lines.length - 1] = lines.at(-1).slice(0, end.column - 1);
  lines[0] = lines[0].slice(start.column - 1);
  const short = (text) => text.replaceAll(/\s+/g, ' ').slice(0, 120);
  const line = String(start.line).padStart(4, '0');
  return `${file}:${line} ${short(lines.join('\n'))}  →  ${short(replacement)}${status === 'NoCoverage' ? '  (not reached)' : ''}\n`;
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  summarise(process.argv.slice(2).length > 0 ? process.argv.slice(2) : undefined);
