import { Field } from '../ui/Field.tsx';

/** What the authenticator shows, or a recovery code. */
export function CodeField({
  code,
  change,
  wrong,
  label = 'Code',
  autoFocus = false,
  hint = 'The six digits that your authenticator shows now, or one of your recovery codes.',
}: {
  code: string;
  change: (code: string) => void;
  wrong: string | null;
  label?: string;
  /** It appears when a person has to go on with it. */
  autoFocus?: boolean;
  hint?: string;
}) {
  return (
    <Field label={label} hint={hint} wrong={wrong}>
      <input
        // biome-ignore lint/a11y/noAutofocus: only where it is the next step
        autoFocus={autoFocus}
        autocomplete="one-time-code"
        autocapitalize="characters"
        spellcheck={false}
        required
        value={code}
        onInput={(event) => change(event.currentTarget.value)}
      />
    </Field>
  );
}
