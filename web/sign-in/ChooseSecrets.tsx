import { Field } from '../ui/Field.tsx';
import { wrongAt } from '../ui/ProblemNotice.tsx';

export interface TypedSecrets {
  readonly password: string;
  readonly pin: string;
}

/** Only what was typed is chosen; an empty field leaves things as they are. */
export const chosenSecrets = ({ password, pin }: TypedSecrets): { password?: string; pin?: string } => ({
  ...(password !== '' && { password }),
  ...(pin !== '' && { pin }),
});

/** The two fields for a new password and a new PIN. */
export function ChooseSecrets({
  typed,
  problem,
  change,
  passwordOnly = false,
}: {
  typed: TypedSecrets;
  problem: Error | null;
  change: (typed: TypedSecrets) => void;
  passwordOnly?: boolean;
}) {
  return (
    <>
      <Field
        label="New password"
        hint="At least 12 characters; a few words in a row are easy to remember. It works everywhere."
        wrong={wrongAt(problem, 'password')}
      >
        <input
          type="password"
          autocomplete="new-password"
          value={typed.password}
          onInput={(event) => change({ ...typed, password: event.currentTarget.value })}
        />
      </Field>
      {!passwordOnly && (
        <Field
          label="New PIN"
          hint="4 to 8 digits. It works only at the registered stations."
          wrong={wrongAt(problem, 'pin')}
        >
          <input
            type="password"
            inputMode="numeric"
            autocomplete="new-password"
            value={typed.pin}
            onInput={(event) => change({ ...typed, pin: event.currentTarget.value })}
          />
        </Field>
      )}
    </>
  );
}
