/**
 * Rewrites text whose columns stand apart by any run of blanks or tabs so that one blank stands between two
 * columns and none at the ends of a line. Quoted cells keep theirs. Call `next` on each piece in order.
 */
export function createBlankCollapser() {
  let quoted = false;
  let atLineStart = true;
  let blankWaits = false;
  const special = /[ \t\n"]/g;

  return {
    next(text: string): string {
      let out = '';
      let from = 0;
      const copyTo = (end: number): void => {
        if (end === from) return;
        if (blankWaits && !atLineStart) out += ' ';
        blankWaits = false;
        atLineStart = false;
        out += text.slice(from, end);
      };
      special.lastIndex = 0;
      for (let found = special.exec(text); found !== null; found = special.exec(text)) {
        const character = found[0];
        if (character === '"') {
          quoted = !quoted;
          continue;
        }
        if (quoted) continue;
        copyTo(found.index);
        from = found.index + 1;
        if (character === '\n') {
          out += '\n';
          atLineStart = true;
          blankWaits = false;
        } else blankWaits = true;
      }
      copyTo(text.length);
      return out;
    },
  };
}
