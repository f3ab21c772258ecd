import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Role } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { roleNames } from '../ui/role-names.ts';

/** For administrators: for which roles is a password alone not enough? */
export function SecondFactorRoles() {
  const roles = useSignal<readonly Role[] | null>(null);
  const problem = useSignal<Error | null>(null);
  const saved = useSignal(false);
  const doing = async (work: () => Promise<void>) => {
    try {
      await work();
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    }
  };
  useEffect(() => {
    doing(async () => {
      roles.value = (await call('GET /api/second-factor/roles')).roles;
    });
  }, []);
  return (
    <section class="panel stack" aria-labelledby="second-factor-title">
      <h2 id="second-factor-title">Second factor</h2>
      <p>
        Who signs in with a password away from the stations is asked for a code of their authenticator as
        well, if their role is ticked here. At their next sign-in they set it up. At a registered station the
        browser itself is the second thing.
      </p>
      <ProblemNotice error={problem.value} />
      {roles.value !== null && (
        <form
          class="stack"
          onSubmit={(event) => {
            event.preventDefault();
            doing(async () => {
              await call('PUT /api/second-factor/roles', { body: { roles: [...(roles.value ?? [])] } });
              saved.value = true;
            });
          }}
        >
          <fieldset class="stack">
            <legend>A password alone is not enough for</legend>
            {(Object.entries(roleNames) as [Role, string][]).map(([role, name]) => (
              <label key={role} class="role-choice">
                <input
                  type="checkbox"
                  checked={roles.value?.includes(role)}
                  onChange={(event) => {
                    const others = (roles.value ?? []).filter((one) => one !== role);
                    roles.value = event.currentTarget.checked ? [...others, role] : others;
                    saved.value = false;
                  }}
                />{' '}
                {name}
              </label>
            ))}
          </fieldset>
          <div class="row">
            <button type="submit">Save</button>
            {saved.value && <p role="status">Saved. It counts from the next sign-in.</p>}
          </div>
        </form>
      )}
    </section>
  );
}
