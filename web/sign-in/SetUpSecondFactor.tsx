import { useSignal } from '@preact/signals';
import type { NewSecondFactor } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { CodeField } from './CodeField.tsx';
import { QrPicture } from './QrPicture.tsx';

/** The present password, then a picture for the authenticator, codes to print, and the first code as a proof. */
export function SetUpSecondFactor({ done }: { done: () => void }) {
  const current = useSignal('');
  const shown = useSignal<NewSecondFactor | null>(null);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const doing = async (work: () => Promise<unknown>) => {
    if (busy.value) return;
    busy.value = true;
    try {
      await work();
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };
  if (shown.value !== null) {
    return (
      <ScanAndProve
        shown={shown.value}
        problem={problem.value}
        busy={busy.value}
        send={(code) =>
          doing(async () => {
            await call('PUT /api/second-factor', { body: { code } });
            done();
          })
        }
      />
    );
  }
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault();
        doing(async () => {
          shown.value = await call('POST /api/second-factor', { body: { current: current.value } });
        });
      }}
    >
      <p>
        You need an authenticator: a program on your phone or computer that shows a new code of six digits
        every 30 seconds. It needs no network.
      </p>
      <Field label="Your present password" wrong={wrongAt(problem.value, 'current')}>
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
      <ProblemNotice error={problem.value} shownFields={['current']} />
      <div>
        <button type="submit" class="main" disabled={busy.value}>
          Begin
        </button>
      </div>
    </form>
  );
}

/** As authenticators show it: in fours. */
const inFours = (secret: string): string => secret.replace(/(.{4})(?=.)/g, '$1 ');

function ScanAndProve({
  shown,
  problem,
  busy,
  send,
}: {
  shown: NewSecondFactor;
  problem: Error | null;
  busy: boolean;
  send: (code: string) => void;
}) {
  const code = useSignal('');
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault();
        send(code.value);
      }}
    >
      <ol class="stack">
        <li>
          <p>
            Let your authenticator read this picture, or type the key into it: letters, and the digits 2 to 7.
          </p>
          <QrPicture
            text={shown.address}
            label="Picture for the authenticator; the key below says the same"
          />
          <p class="one-time-secret link">{inFours(shown.secret)}</p>
        </li>
        <li class="recovery-codes">
          <p>
            Print these recovery codes, or write them down, and keep them where only you can reach them. Each
            lets you in once when the authenticator is lost. They are shown only now.
          </p>
          <ul>
            {shown.recoveryCodes.map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ul>
          <button type="button" onClick={() => print()}>
            Print
          </button>
        </li>
        <li>
          <CodeField
            label="Code that the authenticator shows now"
            hint="Six digits. From then on you are asked for one when you sign in with your password away from the stations."
            code={code.value}
            change={(next) => {
              code.value = next;
            }}
            wrong={wrongAt(problem, 'code')}
          />
        </li>
      </ol>
      <ProblemNotice error={problem} shownFields={['code']} />
      <div>
        <button type="submit" class="main" disabled={busy}>
          Switch on
        </button>
      </div>
    </form>
  );
}
