import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { call } from '../client.ts';
import { session } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { loadSession } from './load-session.ts';
import { SetUpSecondFactor } from './SetUpSecondFactor.tsx';
import { SignInForm } from './SignInForm.tsx';
import './sign-in.css';

/** What anybody sees who is not signed in. */
export default function SignInPage() {
  // A one-time link that is opened here changes only what stands behind the #.
  useEffect(() => {
    const reload = () => location.reload();
    addEventListener('hashchange', reload);
    return () => removeEventListener('hashchange', reload);
  }, []);
  if (session.value?.limited === true) return <SecondFactorFirst />;
  return (
    <div class="sign-in-page stack">
      <h1>Sign in</h1>
      <div class="panel">
        <SignInForm done={leave} />
      </div>
      <RegisterStation />
    </div>
  );
}

/** Somebody has signed in by a password alone where that is not enough. */
function SecondFactorFirst() {
  return (
    <div class="sign-in-page stack">
      <h1>Set up a second factor</h1>
      <p>
        {session.value?.person?.name}, a password alone is not enough for your role in this plant. Set up a
        second factor now; then you go on.
      </p>
      <div class="panel">
        <SetUpSecondFactor
          done={async () => {
            await loadSession();
            leave();
          }}
        />
      </div>
      <div>
        <button type="button" onClick={() => call('DELETE /api/session').then(loadSession)}>
          Sign out
        </button>
      </div>
    </div>
  );
}

/** Away from the address of this page; on any other the workplace appears by itself. */
function leave(): void {
  if (location.pathname === '/sign-in') location.replace('/');
}

/** A browser that stays at its station is registered once, by a code that an administrator has on another screen. */
function RegisterStation() {
  const code = useSignal('');
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const register = async (event: Event) => {
    event.preventDefault();
    if (busy.value) return;
    busy.value = true;
    try {
      await call('POST /api/registered-stations', { body: { code: code.value } });
      await loadSession();
      leave();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };
  return (
    <details class="panel">
      <summary>This browser stands at a station for good</summary>
      <form class="stack" onSubmit={register}>
        <p>
          An administrator makes a code under “People and stations”. It works once, for a quarter of an hour.
          People then sign in here with their PIN.
        </p>
        <Field label="Code" wrong={wrongAt(problem.value, 'token') ?? wrongAt(problem.value, 'code')}>
          <input
            autocomplete="off"
            autocapitalize="characters"
            spellcheck={false}
            required
            value={code.value}
            onInput={(event) => {
              code.value = event.currentTarget.value;
            }}
          />
        </Field>
        <ProblemNotice error={problem.value} shownFields={['token', 'code']} />
        <div>
          <button type="submit" disabled={busy.value}>
            Register this browser
          </button>
        </div>
      </form>
    </details>
  );
}
