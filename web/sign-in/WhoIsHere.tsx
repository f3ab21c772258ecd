import { useSignal, useSignalEffect } from '@preact/signals';
import { useRef } from 'preact/hooks';
import { call } from '../client.ts';
import { askingWho, mayRead, session } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { roleNames } from '../ui/role-names.ts';
import { ChooseSecrets, chosenSecrets } from './ChooseSecrets.tsx';
import { loadSession } from './load-session.ts';
import { OwnSecondFactor } from './OwnSecondFactor.tsx';
import { OwnSessions } from './OwnSessions.tsx';
import { SignInForm } from './SignInForm.tsx';
import './sign-in.css';

/** In the masthead of a server with sign-in: who is signed in, and the way in and out. */
export function WhoIsHere() {
  const dialog = useRef<HTMLDialogElement>(null);
  useSignalEffect(() => {
    if (askingWho.value && dialog.current?.open === false) dialog.current.showModal();
  });
  const person = session.value?.person ?? null;
  const close = () => dialog.current?.close();
  return (
    <>
      <button
        type="button"
        onClick={() => {
          askingWho.value = true;
        }}
      >
        {person?.name ?? 'Sign in'}
      </button>
      <dialog
        ref={dialog}
        class="who-dialog"
        aria-labelledby="who-title"
        onClose={() => {
          askingWho.value = false;
        }}
      >
        {/* Begun anew each time, so that nothing typed stays behind. */}
        {askingWho.value && (
          <div class="stack">
            <h2 id="who-title">{person === null ? 'Sign in' : person.name}</h2>
            {person === null ? (
              <SignInForm done={close} />
            ) : (
              <SignedIn role={roleNames[person.role]} close={close} />
            )}
            <button type="button" onClick={close}>
              Close
            </button>
          </div>
        )}
      </dialog>
    </>
  );
}

function SignedIn({ role, close }: { role: string; close: () => void }) {
  const problem = useSignal<Error | null>(null);
  const signOut = async (key: 'DELETE /api/session' | 'DELETE /api/session/everywhere') => {
    try {
      await call(key);
      await loadSession();
      // Away from the stations nothing of the plant stays on the screen.
      if (!mayRead.value) location.replace('/sign-in');
      close();
    } catch (error) {
      problem.value = error as Error;
    }
  };
  return (
    <>
      <p>Signed in as {role}. Every entry carries this name.</p>
      <button type="button" class="main" onClick={() => signOut('DELETE /api/session')}>
        Sign out
      </button>
      <button type="button" onClick={() => signOut('DELETE /api/session/everywhere')}>
        Sign out on every device
      </button>
      {session.value?.may.includes('manage people') && (
        <a class="button" href="/people">
          People and stations
        </a>
      )}
      <ProblemNotice error={problem.value} />
      <ChangeSecrets />
      <OwnSecondFactor />
      <OwnSessions />
    </>
  );
}

function ChangeSecrets() {
  const current = useSignal('');
  const typed = useSignal({ password: '', pin: '' });
  const problem = useSignal<Error | null>(null);
  const saved = useSignal(false);
  const save = async (event: Event) => {
    event.preventDefault();
    try {
      await call('PUT /api/session/secrets', {
        body: { current: current.value, ...chosenSecrets(typed.value) },
      });
      await loadSession();
      current.value = '';
      typed.value = { password: '', pin: '' };
      problem.value = null;
      saved.value = true;
    } catch (error) {
      problem.value = error as Error;
      saved.value = false;
    }
  };
  return (
    <details>
      <summary>Change password or PIN</summary>
      <form class="stack" onSubmit={save}>
        <Field
          label="Present password (or PIN, where you have no password)"
          wrong={wrongAt(problem.value, 'current')}
        >
          <input
            type="password"
            autocomplete="current-password"
            required
            value={current.value}
            onInput={(event) => {
              current.value = event.currentTarget.value;
            }}
          />
        </Field>
        <ChooseSecrets
          typed={typed.value}
          problem={problem.value}
          change={(next) => {
            typed.value = next;
          }}
        />
        <ProblemNotice error={problem.value} shownFields={['current', 'password', 'pin']} />
        {saved.value && <p role="status">Changed. Every other device is signed out.</p>}
        <div>
          <button type="submit">Change</button>
        </div>
      </form>
    </details>
  );
}
