import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { OneTimeLink } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { ChooseSecrets, chosenSecrets } from './ChooseSecrets.tsx';
import { CodeField } from './CodeField.tsx';
import './sign-in.css';

/** The token stands behind the #, where no server and no log sees it. */
export const linkToken = (): string | null => /^#(?:first|link)=([\w-]+)$/.exec(location.hash)?.[1] ?? null;

/** Where a one-time link leads: to the first administrator, or to a new password and PIN. */
export default function OneTimeLinkPage() {
  const link = useSignal<OneTimeLink | null>(null);
  const problem = useSignal<Error | null>(null);
  const token = linkToken() ?? '';
  useEffect(() => {
    call('POST /api/one-time-links/look', { body: { token } }).then(
      (found) => {
        link.value = found;
      },
      (error: Error) => {
        problem.value = error;
      },
    );
  }, []);
  return (
    <div class="sign-in-page stack">
      <h1>
        {link.value?.purpose === 'first administrator' ? 'The first administrator' : 'Choose how you sign in'}
      </h1>
      {link.value === null && problem.value === null && <p role="status">Loading…</p>}
      <ProblemNotice error={problem.value} shownFields={['token']} />
      {problem.value !== null && (
        <p>
          <a href="/">Sign in</a>
        </p>
      )}
      {link.value?.purpose === 'first administrator' && <FirstAdministrator token={token} />}
      {link.value?.purpose === 'choose secrets' && (
        <NewSecrets token={token} name={link.value.person?.name ?? ''} needsCode={link.value.needsCode} />
      )}
    </div>
  );
}

/** Sends a form, and then begins at the first page. */
function useSending() {
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const send = async (work: () => Promise<unknown>, next: string) => {
    if (busy.value) return;
    busy.value = true;
    try {
      await work();
      location.replace(next);
    } catch (error) {
      problem.value = error as Error;
      busy.value = false;
    }
  };
  return { problem, busy, send };
}

function FirstAdministrator({ token }: { token: string }) {
  const id = useSignal('');
  const name = useSignal('');
  const typed = useSignal({ password: '', pin: '' });
  const { problem, busy, send } = useSending();
  return (
    <form
      class="panel stack"
      onSubmit={(event) => {
        event.preventDefault();
        const body = {
          token,
          person: { id: id.value.trim(), name: name.value },
          ...chosenSecrets(typed.value),
        };
        send(() => call('POST /api/one-time-links/first-administrator', { body }), '/');
      }}
    >
      <p>
        An administrator adds people, gives them their first one-time link, and registers stations. Samples,
        limits and alarms belong to people in other roles, whom you add next.
      </p>
      <Field
        label="Short name"
        hint="Letters, digits, dot, dash, underscore. You sign in with it."
        wrong={wrongAt(problem.value, 'person.id')}
      >
        <input
          autocomplete="username"
          autocapitalize="none"
          spellcheck={false}
          required
          value={id.value}
          onInput={(event) => {
            id.value = event.currentTarget.value;
          }}
        />
      </Field>
      <Field
        label="Name"
        hint="As it shall stand in the records."
        wrong={wrongAt(problem.value, 'person.name')}
      >
        <input
          autocomplete="name"
          required
          value={name.value}
          onInput={(event) => {
            name.value = event.currentTarget.value;
          }}
        />
      </Field>
      <ChooseSecrets
        passwordOnly
        typed={typed.value}
        problem={problem.value}
        change={(next) => {
          typed.value = next;
        }}
      />
      <ProblemNotice error={problem.value} shownFields={['person.id', 'person.name', 'password']} />
      <div>
        <button type="submit" class="main" disabled={busy.value}>
          Begin
        </button>
      </div>
    </form>
  );
}

function NewSecrets({ token, name, needsCode }: { token: string; name: string; needsCode: boolean }) {
  const code = useSignal('');
  const typed = useSignal({ password: '', pin: '' });
  const { problem, busy, send } = useSending();
  return (
    <form
      class="panel stack"
      onSubmit={(event) => {
        event.preventDefault();
        const body = { token, ...chosenSecrets(typed.value), ...(needsCode && { code: code.value }) };
        send(() => call('POST /api/one-time-links/secrets', { body }), '/');
      }}
    >
      <p>
        <strong>{name}</strong>: choose a password, a PIN for the stations, or both. What you leave empty
        stays as it is.
      </p>
      <ChooseSecrets
        typed={typed.value}
        problem={problem.value}
        change={(next) => {
          typed.value = next;
        }}
      />
      {needsCode && (
        <CodeField
          code={code.value}
          change={(next) => {
            code.value = next;
          }}
          wrong={wrongAt(problem.value, 'code')}
        />
      )}
      <ProblemNotice error={problem.value} shownFields={['password', 'pin', 'code']} />
      <div>
        <button type="submit" class="main" disabled={busy.value}>
          Save and sign in
        </button>
      </div>
    </form>
  );
}
