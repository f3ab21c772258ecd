import type { CoreDescription } from '../../api/calculations/description.ts';

/** The folders that hold public functions, each with the question it answers as the map in DEVELOPERS.md puts it. */
export function foldersOf(
  functions: CoreDescription['functions'],
  developers: string,
): CoreDescription['folders'] {
  const names = [...new Set(functions.map(({ folder }) => folder))].sort();
  return names.map((name) => {
    const row = new RegExp(`^\\| \`${name}/\` +\\| (.+?) *\\|`, 'm').exec(developers);
    const question = row?.[1] ?? name.replaceAll('-', ' ');
    return { name, question: question.replaceAll('`', '').replace(/^./, (letter) => letter.toUpperCase()) };
  });
}
