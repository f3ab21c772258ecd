import { useSignal } from '@preact/signals';
import type { SecondFactor } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { SetUpSecondFactor } from './SetUpSecondFactor.tsx';

/** Has this person a second factor, and how do they get one? */
export function OwnSecondFactor() {
  const state = useSignal<SecondFactor | null>(null);
  const problem = useSignal<Error | null>(null);
  const settingUp = useSignal(false);
  const load = () =>
    call('GET /api/second-factor').then(
      (found) => {
        state.value = found;
        problem.value = null;
      },
      (error: Error) => {
        problem.value = error;
      },
    );
  return (
    <details
      onToggle={(event) => {
        if (event.currentTarget.open) load();
      }}
    >
      <summary>Second factor</summary>
      <div class="stack">
        <ProblemNotice error={problem.value} />
        {state.value !== null && (
          <p role="status">
            {state.value.on
              ? `On. You have ${state.value.recoveryCodesLeft} unused recovery codes.`
              : 'Off: your password alone lets you in.'}
          </p>
        )}
        {settingUp.value ? (
          <SetUpSecondFactor
            done={() => {
              settingUp.value = false;
              load();
            }}
          />
        ) : (
          state.value !== null && (
            <div>
              <button
                type="button"
                onClick={() => {
                  settingUp.value = true;
                }}
              >
                {state.value.on ? 'Set up another, with new recovery codes' : 'Set up'}
              </button>
            </div>
          )
        )}
      </div>
    </details>
  );
}
