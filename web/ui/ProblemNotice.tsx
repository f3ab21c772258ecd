import { Refusal } from '../client.ts';
import { Notice } from './Notice.tsx';

/** What went wrong with something the person asked for, in the server's words, field by field. */
export function ProblemNotice({
  error,
  shownFields = [],
}: {
  error: Error | null;
  shownFields?: readonly string[];
}) {
  if (error === null) return null;
  const elsewhere =
    error instanceof Refusal
      ? error.problem.errors.filter(
          // What the sentence above says already is not said again under the name of a field.
          (item) => !shownFields.includes(item.field) && item.message !== error.message,
        )
      : [];
  // Where the sentence lists fields by the names that programs use, the labels beside them say it better.
  const besideFields =
    error instanceof Refusal &&
    error.problem.errors.every(({ field }) => shownFields.includes(field)) &&
    error.problem.errors.some(
      ({ field, message }) =>
        error.message.startsWith(`${field} ${message}`) ||
        (message === error.message && asSentence(message) !== message),
    );
  return (
    <Notice kind="call" title={error instanceof Refusal ? error.problem.title : 'Not done'} live="assertive">
      <p>{besideFields ? 'What is wrong stands beside the fields.' : asSentence(error.message)}</p>
      {elsewhere.length > 0 && (
        <ul>
          {elsewhere.map((item) => (
            <li key={item.field}>
              <strong>{item.field}</strong>: {item.message}
            </li>
          ))}
        </ul>
      )}
    </Notice>
  );
}

/** What the server says about one field, to be shown beside it; null when it says nothing. */
export function wrongAt(error: Error | null, field: string): string | null {
  if (!(error instanceof Refusal)) return null;
  const found = error.problem.errors.find((item) => item.field === field || item.field.endsWith(`.${field}`));
  return found === undefined ? null : asSentence(found.message);
}

/** The server says "must be …" of a field that programs know by its name; beside its label that needs a subject. */
const asSentence = (message: string): string =>
  /^(?:must|is|was|has|does|can|cannot|may|needs|works|belongs) /.test(message) ? `This ${message}` : message;
