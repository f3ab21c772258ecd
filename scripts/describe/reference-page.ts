import { html, raw } from 'hono/html';
import type { CoreDescription, FunctionDescription } from '../../api/calculations/description.ts';
import { plainJson } from '../../web/reference/plain-json.ts';
import { fieldTable, meaningOf } from './field-table.ts';
import { searchedWords } from './search-words.ts';

type Html = ReturnType<typeof html>;

/** Something that may grow longer than its box, reachable by keyboard. */
const block = (label: string, text: string): Html =>
  html`<pre tabindex="0" role="region" aria-label="${label}">${text}</pre>`;

/** Writes text in which names of other calculations lead to them. */
function linking(names: readonly string[]): (text: string, own: string) => Html {
  // A name that is also an everyday word stays one.
  const known = new Set(names.filter((name) => /[A-Z]/.test(name)));
  const linked = (text: string, own: string): Html =>
    html`${text
      .split(/\b([a-z]+[A-Z]\w*)\b/)
      .map((part) => (known.has(part) && part !== own ? html`<a href="#${part}">${part}</a>` : part))}`;
  return (text, own) =>
    html`${text
      .split('`')
      .map((part, place) =>
        place % 2 === 1 ? html`<code>${linked(part, own)}</code>` : linked(part, own),
      )}`;
}

/** Without links, where a click already means something. */
const plain = linking([]);

interface Page {
  readonly definitions: CoreDescription['definitions'];
  readonly linked: (text: string, own: string) => Html;
}

function calculation(described: FunctionDescription, question: string, page: Page): Html {
  const { name, parameters, returns, example, schemas } = described;
  const { definitions } = page;
  const words = (text: string): Html => page.linked(text, name);
  const paragraph = (text: string): Html => html`<p>${words(text)}</p>`;
  const texts = [
    ...described.paragraphs,
    ...parameters.map(({ text }) => text),
    returns.text,
    described.source,
  ];
  const searched = searchedWords(name, [...texts, question, example.code]);
  const parts = parameters.map((one) => {
    // What cannot be sent over HTTP has no schema, but its types may have.
    const schema = schemas?.arguments.properties?.[one.name] ?? definitions[one.type.replace(/\[\]$/, '')];
    const text = one.text || meaningOf(schema, definitions);
    return html`<dt><code>${one.name}${one.required ? '' : '?'}: ${one.type}</code></dt>
      <dd>${text === '' ? '' : html`<p>${words(text)}</p>`}${fieldTable(one.name, name, schema, definitions, words) ?? ''}</dd>`;
  });
  return html`<details class="calculation" id="${name}" data-words="${searched}">
    <summary><h3>${name}</h3> <span>${plain(described.summary, name)}</span></summary>
    <div>
      ${block(`Signature of ${name}`, described.signature)}
      ${described.paragraphs.map(paragraph)}
      <h4>Parameters</h4>
      <dl>${parts}</dl>
      <h4>Result</h4>
      <p><code>${returns.type}</code></p>
      ${returns.text === '' ? '' : paragraph(returns.text)}
      <h4>Errors</h4>
      ${paragraph(described.throws)}
      <h4>Source</h4>
      ${paragraph(described.source)}
      <h4>Example</h4>
      ${block(`Example of ${name}`, example.code)}
      <p>What the call returns:</p>
      ${block(`Result of the example of ${name}`, plainJson(example.result))}
      ${schemas === null ? notOverHttp : runForm(described)}
    </div>
  </details>`;
}

const notOverHttp = html`<p>It works on typed arrays, so it is for programs that import it, and has no address of its own.</p>`;

function runForm({ name, example }: FunctionDescription): Html {
  const given = plainJson(example.arguments);
  const lines = Math.min(20, Math.max(4, given.split('\n').length + 1));
  // A line break first, which the parser of a text area swallows.
  return html`<form class="run stack" action="/api/calculations/${name}" method="post">
    <h4>Run it here</h4>
    <div class="field">
      <label for="arguments-${name}">Arguments of ${name}, as JSON</label>
      <textarea id="arguments-${name}" rows="${lines}" spellcheck="false">
${given}</textarea>
      <span class="hint">Sent to <code>POST /api/calculations/${name}</code>. Ctrl and Enter run it too.</span>
    </div>
    <div class="row"><button class="main" type="submit">Run ${name}</button></div>
    <output aria-live="polite"></output>
  </form>`;
}

const INTRODUCTION =
  'What each calculation does, takes and gives, and where it comes from. Each runs in a program of your own that ' +
  'imports the statistics core; all but those on typed arrays also run on this page and under /api/calculations. ' +
  'They advise; people release parts.';

/** Where on the page a folder begins. */
const place = (folder: string): string => `in-${folder.replaceAll('/', '-')}`;

/** The page of all calculations, written into the built shell that carries its style and script. */
export function referencePage(shell: string, { folders, functions, definitions }: CoreDescription): string {
  const page = { definitions, linked: linking(functions.map(({ name }) => name)) };
  const groups = folders.map(({ name, question }) => {
    const ofFolder = functions.filter(({ folder }) => folder === name);
    return html`<section class="group" aria-labelledby="${place(name)}">
      <h2 id="${place(name)}">${question}</h2>
      ${ofFolder.map((one) => calculation(one, question, page))}
    </section>`;
  });
  const body = html`
    <header class="masthead">
      <a class="home" href="/"><img src="/mark.svg" alt="" width="32" height="32"> Runtrue</a>
      <nav aria-label="Descriptions">
        <a href="/reference" aria-current="page">Calculations</a>
        <a href="/api/docs">API</a>
      </nav>
    </header>
    <main class="page reference">
      <h1>The calculations</h1>
      <p>${INTRODUCTION}</p>
      <div class="field">
        <label for="filter">Find a calculation</label>
        <input id="filter" type="search" autocomplete="off" aria-describedby="filter-hint">
        <span class="hint" id="filter-hint">Press / to come here, Enter to open the first one found.</span>
      </div>
      <p id="found" role="status">${functions.length} calculations</p>
      <nav aria-label="Questions">
        <ul class="contents">${folders.map(({ name, question }) => html`<li><a href="#${place(name)}">${question}</a></li>`)}</ul>
      </nav>
      ${groups}
    </main>`;
  return shell.replace(
    /(<body>)[\s\S]*(<\/body>)/,
    (_, open: string, close: string) => `${open}${raw(String(body))}\n  ${close}`,
  );
}
