import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useRef } from 'preact/hooks';
import type { SignInSubmission } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { ProviderLink } from '../keys/ProviderLink.tsx';
import { peopleById, plantModel } from '../plant.ts';
import { askingWho, session } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { roleNames } from '../ui/role-names.ts';
import { CodeField } from './CodeField.tsx';
import { loadSession } from './load-session.ts';
import { PinPad } from './PinPad.tsx';
import './sign-in.css';

/** At a registered station: a name and a PIN. Elsewhere: a short name and a password. */
export function SignInForm({ done }: { done: () => void }) {
  const byPassword = useSignal(session.value?.stationId == null);
  const personId = useSignal('');
  if (byPassword.value) {
    return (
      <PasswordForm
        personId={personId.value}
        done={done}
        other={
          session.value?.stationId != null && (
            <button
              type="button"
              onClick={() => {
                byPassword.value = false;
              }}
            >
              With a PIN instead
            </button>
          )
        }
      />
    );
  }
  if (personId.value === '') {
    return (
      <div class="stack">
        <p>Who are you?</p>
        <div class="sign-in-people">
          {(plantModel.value?.people ?? []).map((person) => (
            <button
              key={person.id}
              type="button"
              class="person"
              onClick={() => {
                personId.value = person.id;
              }}
            >
              <span>{person.name}</span>
              <small>{roleNames[person.role]}</small>
            </button>
          ))}
        </div>
      </div>
    );
  }
  return (
    <PinForm
      personId={personId.value}
      done={done}
      someoneElse={() => {
        personId.value = '';
      }}
      withPassword={() => {
        byPassword.value = true;
      }}
    />
  );
}

/** Anything else that let somebody in was a recovery code. */
const isAuthenticatorCode = (typed: string): boolean => /^\d{6}$/.test(typed.replace(/\s/g, ''));

/** Sends the form; gives what goes wrong to the notice below it. */
function useSignIn(done: () => void) {
  const busy = useSignal(false);
  const problem = useSignal<Error | null>(null);
  /** Set once a recovery code has let somebody in: they are told before they go on. */
  const codesLeft = useSignal<number | null>(null);
  const goOn = async () => {
    await loadSession();
    problem.value = null;
    // A try that failed had the masthead ask.
    askingWho.value = false;
    done();
  };
  const send = async (body: SignInSubmission) => {
    if (busy.value) return false;
    busy.value = true;
    try {
      await call('POST /api/session', { body });
      if (body.code !== undefined && !isAuthenticatorCode(body.code)) {
        const state = await call('GET /api/second-factor').catch(() => null);
        codesLeft.value = state?.recoveryCodesLeft ?? null;
        if (state !== null) return true;
      }
      await goOn();
      return true;
    } catch (error) {
      problem.value = error as Error;
      return false;
    } finally {
      busy.value = false;
    }
  };
  return { busy, problem, codesLeft, goOn, send };
}

function PinForm({
  personId,
  done,
  someoneElse,
  withPassword,
}: {
  personId: string;
  done: () => void;
  someoneElse: () => void;
  withPassword: () => void;
}) {
  const field = useRef<HTMLInputElement>(null);
  const pin = useSignal('');
  const { busy, problem, send } = useSignIn(done);
  return (
    <form
      class="stack"
      onSubmit={async (event) => {
        event.preventDefault();
        if (!(await send({ personId, pin: pin.value }))) pin.value = '';
        field.current?.focus();
      }}
    >
      <p>
        <strong>{peopleById.value.get(personId)?.name ?? personId}</strong>
      </p>
      <Field label="PIN">
        <input
          // biome-ignore lint/a11y/noAutofocus: the one field of a step that the person has just chosen
          autoFocus
          ref={field}
          type="password"
          inputMode="numeric"
          autocomplete="current-password"
          maxLength={8}
          value={pin.value}
          onInput={(event) => {
            pin.value = event.currentTarget.value;
          }}
        />
      </Field>
      <PinPad
        type={(digit) => {
          pin.value = `${pin.value}${digit}`.slice(0, 8);
        }}
        back={() => {
          pin.value = pin.value.slice(0, -1);
        }}
      />
      <ProblemNotice error={problem.value} shownFields={['secret', 'pin']} />
      <button type="submit" class="main" disabled={busy.value || pin.value === ''}>
        Sign in
      </button>
      <div class="row">
        <button type="button" onClick={someoneElse}>
          Somebody else
        </button>
        <button type="button" onClick={withPassword}>
          With a password instead
        </button>
      </div>
    </form>
  );
}

function PasswordForm({
  personId: chosen,
  done,
  other,
}: {
  personId: string;
  done: () => void;
  other: ComponentChildren;
}) {
  const personId = useSignal(chosen);
  const password = useSignal('');
  const code = useSignal<string | null>(null);
  const { busy, problem, codesLeft, goOn, send } = useSignIn(done);
  const wrongCode = wrongAt(problem.value, 'code');
  // Asked for once the server says that this person has a second factor.
  if (wrongCode !== null && code.value === null) code.value = '';
  if (codesLeft.value !== null) return <RecoveryCodeUsed left={codesLeft.value} goOn={goOn} />;
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault();
        send({
          personId: personId.value.trim(),
          password: password.value,
          ...(code.value !== null && { code: code.value }),
        });
      }}
    >
      <Field label="Your short name" wrong={wrongAt(problem.value, 'personId')}>
        <input
          autocomplete="username"
          autocapitalize="none"
          spellcheck={false}
          required
          value={personId.value}
          onInput={(event) => {
            personId.value = event.currentTarget.value;
          }}
        />
      </Field>
      <Field label="Password">
        <input
          type="password"
          autocomplete="current-password"
          required
          value={password.value}
          onInput={(event) => {
            password.value = event.currentTarget.value;
          }}
        />
      </Field>
      {code.value !== null && (
        <CodeField
          code={code.value}
          change={(next) => {
            code.value = next;
          }}
          wrong={wrongCode}
          autoFocus
        />
      )}
      {wrongCode === null && (
        <ProblemNotice error={problem.value} shownFields={['secret', 'personId', 'password']} />
      )}
      <div class="row">
        <button type="submit" class="main" disabled={busy.value}>
          Sign in
        </button>
        {other}
        <ProviderLink />
      </div>
      <p class="hint">Forgotten? An administrator gives you a one-time link to choose anew.</p>
    </form>
  );
}

function RecoveryCodeUsed({ left, goOn }: { left: number; goOn: () => Promise<void> }) {
  const problem = useSignal<Error | null>(null);
  return (
    <Notice kind={left > 2 ? 'fine' : 'ask'} title="Signed in with a recovery code" live="assertive">
      <p>
        It cannot be used again. {left === 1 ? '1 recovery code is' : `${left} recovery codes are`} left. Set
        up a second factor anew, under your name above, if the authenticator is lost or the codes run out.
      </p>
      <ProblemNotice error={problem.value} />
      <button
        type="button"
        class="main"
        onClick={() =>
          goOn().catch((error: Error) => {
            problem.value = error;
          })
        }
      >
        Go on
      </button>
    </Notice>
  );
}
