import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ApiKey, KeyScope } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { tickingNow } from '../live.ts';
import { peopleById, plantModel, utcOffsetMinutes } from '../plant.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import './keys.css';
import { endOfDay, reachInWords, reachOf, scopeNames, stateInWords } from './key-words.ts';

const scopes = Object.keys(scopeNames) as KeyScope[];

/** For administrators: keys with which gauges, importers and reports come in. */
export function KeysSection() {
  const keys = useSignal<readonly ApiKey[]>([]);
  const made = useSignal<{ readonly key: ApiKey; readonly secret: string } | null>(null);
  const problem = useSignal<Error | null>(null);
  const load = async () => {
    keys.value = await call('GET /api/keys');
  };
  const doing = async (work: () => Promise<unknown>): Promise<boolean> => {
    try {
      await work();
      await load();
      problem.value = null;
      return true;
    } catch (error) {
      problem.value = error as Error;
      return false;
    }
  };
  useEffect(() => {
    doing(async () => {});
  }, []);

  const revoke = (key: ApiKey): void => {
    const reason = prompt(`Why does the key ${key.id} end? It stops working at once.`)?.trim();
    if (!reason) return;
    doing(() => call('POST /api/keys/{id}/revocation', { params: { id: key.id }, body: { reason } }));
  };

  return (
    <section class="panel stack" aria-labelledby="keys-title">
      <h2 id="keys-title">Keys of programs</h2>
      <p>
        A gauge, an importer or a report comes in with a key of its own. What it enters carries the name of
        the key. Programs can do nothing that takes a person’s judgement.
      </p>
      {made.value !== null && (
        <Notice kind="fine" title={`The key ${made.value.key.id}`}>
          <p>
            Copy it into the program now; it is shown only this once. The program sends it with each request,
            in the header <code>Authorization: Bearer …</code>
          </p>
          <p class="key-secret">{made.value.secret}</p>
        </Notice>
      )}
      <ProblemNotice error={problem.value} shownFields={['id', 'name', 'scopes', 'expiresAt']} />
      {keys.value.length > 0 && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a table wider than the screen scrolls by keyboard
        <section class="scroll" tabIndex={0} aria-label="Keys of programs, table">
          <table>
            <thead>
              <tr>
                <th scope="col">Key</th>
                <th scope="col">May</th>
                <th scope="col">In</th>
                <th scope="col">State</th>
                <th scope="col">Last used</th>
                <th scope="col">Made by</th>
                <th scope="col">Change</th>
              </tr>
            </thead>
            <tbody>
              {keys.value.map((key) => (
                <tr key={key.id}>
                  <td>
                    {key.name}
                    <br />
                    <small>{key.id}</small>
                  </td>
                  <td>{key.scopes.map((scope) => scopeNames[scope]).join(', ')}</td>
                  <td>{reachInWords(key.reach)}</td>
                  <td>{stateInWords(key, tickingNow.value, utcOffsetMinutes.value)}</td>
                  <td>{key.lastUsedOn ?? 'never'}</td>
                  <td>{peopleById.value.get(key.madeBy)?.name ?? key.madeBy}</td>
                  <td>
                    {key.revokedAt === null && (
                      <button type="button" onClick={() => revoke(key)}>
                        Revoke <span class="visually-hidden">{key.id}</span>
                      </button>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
      <NewKeyForm
        error={problem.value}
        make={(body) =>
          doing(async () => {
            made.value = await call('POST /api/keys', { body });
          })
        }
      />
    </section>
  );
}

interface NewKey {
  readonly id: string;
  readonly name: string;
  readonly scopes: KeyScope[];
  readonly reach: ReturnType<typeof reachOf>;
  readonly expiresAt: string | null;
}

function NewKeyForm({
  error,
  make,
}: {
  error: Error | null;
  /** true where it was made. */
  make: (key: NewKey) => Promise<boolean>;
}) {
  const id = useSignal('');
  const name = useSignal('');
  const chosen = useSignal<readonly KeyScope[]>(['enter samples']);
  const reach = useSignal('');
  const lastDay = useSignal('');
  const { lines = [], streams = [] } = plantModel.value ?? {};
  const submit = async (event: Event) => {
    event.preventDefault();
    const done = await make({
      id: id.value.trim(),
      name: name.value.trim(),
      scopes: [...chosen.value],
      reach: reachOf(reach.value),
      expiresAt: endOfDay(lastDay.value, utcOffsetMinutes.value),
    });
    if (!done) return;
    id.value = '';
    name.value = '';
  };
  return (
    <form class="stack" onSubmit={submit}>
      <h3>Make a key</h3>
      <div class="row">
        <Field
          label="Short name of the key"
          hint="Such as width-fixture-3; it stands in the records"
          wrong={wrongAt(error, 'id')}
        >
          <input
            required
            autocapitalize="none"
            spellcheck={false}
            maxLength={50}
            value={id.value}
            onInput={(event) => {
              id.value = event.currentTarget.value;
            }}
          />
        </Field>
        <Field label="What it is for" wrong={wrongAt(error, 'name')}>
          <input
            required
            value={name.value}
            onInput={(event) => {
              name.value = event.currentTarget.value;
            }}
          />
        </Field>
        <Field label="Only for">
          <select
            value={reach.value}
            onChange={(event) => {
              reach.value = event.currentTarget.value;
            }}
          >
            <option value="">The whole plant</option>
            {lines.map((line) => (
              <option key={line.id} value={`line ${line.id}`}>
                Line {line.name}
              </option>
            ))}
            {streams.map((stream) => (
              <option key={stream.id} value={`stream ${stream.id}`}>
                Stream {stream.id}
              </option>
            ))}
          </select>
        </Field>
        <Field label="Last day" hint="Empty: until it is revoked" wrong={wrongAt(error, 'expiresAt')}>
          <input
            type="date"
            value={lastDay.value}
            onInput={(event) => {
              lastDay.value = event.currentTarget.value;
            }}
          />
        </Field>
      </div>
      <fieldset class="key-scopes">
        <legend>It may</legend>
        {scopes.map((scope) => (
          <label key={scope}>
            <input
              type="checkbox"
              checked={chosen.value.includes(scope)}
              onChange={(event) => {
                chosen.value = event.currentTarget.checked
                  ? [...chosen.value, scope]
                  : chosen.value.filter((one) => one !== scope);
              }}
            />
            {scopeNames[scope]}
          </label>
        ))}
      </fieldset>
      <div>
        <button type="submit" class="main" disabled={chosen.value.length === 0}>
          Make the key
        </button>
      </div>
    </form>
  );
}
