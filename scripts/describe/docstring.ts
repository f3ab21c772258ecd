/** The parts of a docstring, by the form that every public function of src/ keeps to. */

interface Docstring {
  /** What and why, one entry a paragraph; accuracy and other remarks follow. */
  readonly paragraphs: readonly string[];
  readonly parameters: readonly { readonly name: string; readonly text: string }[];
  readonly returns: string;
  readonly throws: string;
  readonly source: string;
  /** As written, comment lines included; empty where there is none. */
  readonly example: string;
}

/** The text of a block comment without its stars, line by line. */
const linesOf = (comment: string): string[] =>
  comment
    .replace(/^\/\*\*/, '')
    .replace(/\*\/$/, '')
    .split('\n')
    .map((line) => line.replace(/^\s*\* ?/, '').trimEnd());

/** Cuts the lines at blank lines, tags and "Source:"; a list keeps its lines apart. */
function blocksOf(lines: readonly string[]): string[] {
  const blocks: string[] = [];
  let open = false;
  for (const line of lines) {
    const text = line.trim();
    if (text === '') open = false;
    else if (!open || /^@\w|^Source:/.test(text)) {
      blocks.push(text);
      open = true;
    } else blocks.push(`${blocks.pop()}${/^- /.test(text) ? '\n' : ' '}${text}`);
  }
  return blocks;
}

/** Reads a block comment. */
export function readDocstring(comment: string): Docstring {
  const lines = linesOf(comment);
  const from = lines.findIndex((line) => line.trim() === '@example');
  const blocks = blocksOf(from === -1 ? lines : lines.slice(0, from));
  const tagged = (tag: string) =>
    blocks.filter((block) => block.startsWith(`${tag} `)).map((block) => block.slice(tag.length).trim());
  return {
    paragraphs: blocks.filter((block) => !/^@|^Source:/.test(block)),
    parameters: tagged('@param').map((text) => {
      const [, name = '', rest = ''] = /^(\S+)\s*([\s\S]*)$/.exec(text) ?? [];
      return { name, text: rest };
    }),
    returns: tagged('@returns').join(' '),
    throws: tagged('@throws').join(' '),
    source: tagged('Source:').join(' '),
    example:
      from === -1
        ? ''
        : lines
            .slice(from + 1)
            .join('\n')
            .trim(),
  };
}
