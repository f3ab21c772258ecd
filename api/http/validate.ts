import type { z } from '@hono/zod-openapi';
import { ProblemError } from '../problem.ts';

/** Most field errors in one answer; more would help nobody. */
const MAX_ERRORS = 20;

interface RawIssue {
  readonly code?: string | undefined;
  readonly expected?: string;
  readonly origin?: string;
  readonly minimum?: number | bigint;
  readonly maximum?: number | bigint;
  readonly inclusive?: boolean;
  readonly format?: string;
  readonly values?: readonly unknown[];
  readonly options?: readonly unknown[];
  readonly input?: unknown;
}

/** An issue of zod after its sentence was found. */
interface Issue extends RawIssue {
  readonly path: readonly PropertyKey[];
  readonly message: string;
  /** Of a value that fits none of several forms: what each form holds against it. */
  readonly errors?: readonly (readonly Issue[])[];
  readonly keys?: readonly string[];
}

const kinds: Readonly<Record<string, string>> = {
  string: 'a text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  object: 'an object',
  record: 'an object',
};

/** Names that a form must hold to be meant at all. */
const isOtherForm = ({ code, values = [] }: Issue): boolean =>
  code === 'invalid_value' && values.length === 1;

/** What a value should have been, where it is of no kind that is taken. */
const wantedBy = ({ expected = '', values }: Issue): string =>
  values?.map((value) => JSON.stringify(value)).join(', ') ?? kinds[expected] ?? expected;

interface FieldError {
  readonly field: string;
  readonly message: string;
}

/** The fields that an issue is about. Of several forms the one that the value comes nearest to speaks. */
function fieldErrors(issue: Issue, above: readonly PropertyKey[], where: string): FieldError[] {
  const path = [...above, ...issue.path];
  const named = (steps: readonly PropertyKey[]): string => steps.map(String).join('.') || where;
  if (issue.code === 'unrecognized_keys' && issue.keys !== undefined)
    return issue.keys.map((key) => ({
      field: named([...path, key]),
      message: 'is not known here; check its spelling or leave it out',
    }));
  const forms = issue.code === 'invalid_union' ? (issue.errors ?? []) : [];
  if (forms.length === 0) return [{ field: named(path), message: issue.message }];
  const deeper = forms.filter(
    (form) => !(form.length === 1 && form[0]!.path.length === 0 && form[0]!.code !== 'unrecognized_keys'),
  );
  if (deeper.length === 0) {
    const wanted = forms.map((form) => wantedBy(form[0]!)).join(' or ');
    return [
      {
        field: named(path),
        message:
          issue.input === undefined
            ? `is missing; give ${wanted}`
            : `must be ${wanted}, not ${kindOf(issue.input)}`,
      },
    ];
  }
  const unnamed = noneNamed(deeper);
  if (unnamed !== null) return [{ field: named([...path, ...unnamed.path]), message: sentence(unnamed) }];
  const nearest = [...deeper].sort(
    (a, b) => a.filter(isOtherForm).length - b.filter(isOtherForm).length || a.length - b.length,
  )[0]!;
  return nearest.flatMap((one) => fieldErrors(one, path, where));
}

/** Where every form asks for another name in the same field, and none was given: all the names there are. */
function noneNamed(forms: readonly (readonly Issue[])[]): Issue | null {
  const asked = forms.map((form) => form.find(isOtherForm));
  const [first] = asked;
  const place = JSON.stringify(first?.path);
  if (first === undefined || asked.some((issue) => JSON.stringify(issue?.path) !== place)) return null;
  return { ...first, values: [...new Set(asked.flatMap((issue) => issue?.values ?? []))] };
}

const kindOf = (input: unknown): string => {
  if (input === null) return 'null';
  if (Array.isArray(input)) return 'a list';
  return kinds[typeof input] ?? typeof input;
};

const formats: Readonly<Record<string, string>> = {
  uuid: 'must be a UUID, such as 0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c11',
  datetime: 'must be a date and time with its distance from UTC, such as 2025-09-01T06:30:00+02:00',
};

const measure = (origin: string | undefined, bound: number | bigint | undefined): string => {
  const one = Number(bound) === 1;
  if (origin === 'string') return one ? ' character long' : ' characters long';
  if (origin === 'array') return one ? ' entry long' : ' entries long';
  return '';
};

/** What is wrong with a field and how to put it right, in plain words. */
function sentence(issue: RawIssue): string {
  const offered = issue.values ?? issue.options;
  if (offered !== undefined && offered.length > 0) {
    const list = offered.map((value) => JSON.stringify(value)).join(', ');
    const wanted = offered.length === 1 ? list : `one of ${list}`;
    return issue.input === undefined ? `is missing; give ${wanted}` : `must be ${wanted}`;
  }
  switch (issue.code) {
    case 'invalid_type': {
      const wanted = kinds[issue.expected ?? ''] ?? issue.expected ?? 'something else';
      if (issue.input === undefined) return `is missing; give ${wanted}`;
      if (issue.expected === 'int') return 'must be a whole number';
      // A text in the address that is no number.
      if (Number.isNaN(issue.input)) return `must be ${wanted}`;
      return `must be ${wanted}, not ${kindOf(issue.input)}`;
    }
    case 'too_big':
      return `must be ${issue.inclusive === false ? 'less than' : 'at most'} ${issue.maximum}${measure(issue.origin, issue.maximum)}`;
    case 'too_small':
      return `must be ${issue.inclusive === false ? 'greater than' : 'at least'} ${issue.minimum}${measure(issue.origin, issue.minimum)}`;
    case 'invalid_format':
      return formats[issue.format ?? ''] ?? `must be written as ${issue.format}`;
    default:
      return 'is not what is asked for here';
  }
}

/** Checks a value against a schema of the contract; a refusal names every field and the fix. */
export function validate<S extends z.ZodType>(schema: S, value: unknown, where: string): z.output<S> {
  const result = schema.safeParse(value, {
    error: (issue) => sentence(issue as RawIssue),
    reportInput: true,
  });
  if (result.success) return result.data;
  const byField = new Map<string, string>();
  for (const issue of result.error.issues as readonly Issue[])
    for (const { field, message } of fieldErrors(issue, [], where)) byField.set(field, message);
  const errors = [...byField].slice(0, MAX_ERRORS).map(([field, message]) => ({ field, message }));
  const named = errors.slice(0, 3).map(({ field, message }) => `${field} ${message}`);
  const more = byField.size > named.length ? `; and ${byField.size - named.length} more` : '';
  throw new ProblemError(422, 'Not acceptable as it stands', `${named.join('; ')}${more}.`, errors);
}
