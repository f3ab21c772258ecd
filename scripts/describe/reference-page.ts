import { html, raw } from 'hono/html';
import type { CoreDescription, FunctionDescription } from '../../api/calculations/description.ts';
import { plainJson } from '../../web/reference/plain-json.ts';

type Html = ReturnType<typeof html>;

/** Plain words with `code` in them. */
const words = (text: string): Html =>
  html`${text.split('`').map((part, place) => (place % 2 === 1 ? html`<code>${part}</code>` : part))}`;

const paragraph = (text: string): Html => html`<p>${words(text)}</p>`;

/** Something that may grow longer than its box, reachable by keyboard. */
const block = (label: string, text: string): Html =>
  html`<pre tabindex="0" role="region" aria-label="${label}">${text}</pre>`;

function calculation(described: FunctionDescription, question: string): Html {
  const { name, parameters, returns, example, schemas } = described;
  const texts = [
    ...described.paragraphs,
    ...parameters.map(({ text }) => text),
    returns.text,
    described.source,
  ];
  const searched = [name, ...texts, question, example.code].join(' ').toLowerCase();
  const parts = parameters.map(
    (one) => html`<dt><code>${one.name}${one.required ? '' : '?'}: ${one.type}</code></dt>
      <dd>${one.text === '' ? 'As its type says.' : words(one.text)}</dd>`,
  );
  return html`<details class="calculation" id="${name}" data-words="${searched}">
    <summary><h3>${name}</h3> <span>${words(described.summary)}</span></summary>
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
export function referencePage(shell: string, { folders, functions }: CoreDescription): string {
  const groups = folders.map(({ name, question }) => {
    const ofFolder = functions.filter(({ folder }) => folder === name);
    return html`<section class="group" aria-labelledby="${place(name)}">
      <h2 id="${place(name)}">${question}</h2>
      ${ofFolder.map((one) => calculation(one, question))}
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
