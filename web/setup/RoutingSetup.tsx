import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { PlantModel, Recipient, Routing, RoutingRule } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { whyNot } from '../permissions.ts';
import { personIsNamed } from '../session.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { RecordDialog } from './RecordDialog.tsx';
import { RecordSection } from './RecordSection.tsx';
import type { RecordForm } from './record-forms.ts';
import { routingForms, SHOWN_STEPS, safetyForm } from './routing-forms.ts';

/** Who hears of which alarm, and who next. */
export function RoutingSetup({ plant }: { plant: PlantModel }) {
  const routing = useSignal<Routing | null>(null);
  const editing = useSignal<{ form: RecordForm; record: unknown } | null>(null);
  const problem = useSignal<Error | null>(null);
  const said = useSignal('');

  const load = (): Promise<void> =>
    call('GET /api/routing').then(
      (answer) => {
        routing.value = answer;
      },
      (error: Error) => {
        problem.value = error;
      },
    );
  useEffect(() => {
    load();
  }, []);

  const tried = async (work: () => Promise<string>): Promise<void> => {
    if (!personIsNamed()) return;
    try {
      said.value = await work();
      problem.value = null;
      await load();
    } catch (error) {
      problem.value = error as Error;
    }
  };

  if (routing.value === null) return <ProblemNotice error={problem.value} />;
  const { shifts, recipients, rules, safetyCharacteristicIds, doors, unheard } = routing.value;
  const refusal = whyNot('route alarms');
  const forms = routingForms(plant, routing.value);
  const edit = (form: RecordForm) => (record: unknown) => {
    editing.value = { form, record };
  };
  const changeable = rules.filter(({ steps }: RoutingRule) => steps.length <= SHOWN_STEPS);
  return (
    <>
      <RecordSection form={forms.shifts} records={shifts} edit={edit(forms.shifts)} />
      <RecordSection form={forms.people} records={recipients} edit={edit(forms.people)}>
        {!doors.mail && recipients.some(({ to }) => to.by === 'mail') && (
          <p>No mail server is set up on this server: mails wait (SMTP_URL).</p>
        )}
        {!doors.mqtt && recipients.some(({ to }) => to.by === 'topic') && (
          <p>No broker is set up on this server: messages to topics wait (MQTT_URL).</p>
        )}
        <ul class="plain-list">
          {(refusal === null ? recipients : []).map((recipient) => (
            <RecipientActions
              key={recipient.id}
              recipient={recipient}
              hasSecret={routing.value!.signedRecipientIds.includes(recipient.id)}
              tried={tried}
            />
          ))}
        </ul>
        <p role="status">{said.value}</p>
        <ProblemNotice error={problem.value} />
      </RecordSection>
      <RecordSection form={forms.rules} records={changeable} edit={edit(forms.rules)}>
        {changeable.length < rules.length && (
          <p>Rules with more than {SHOWN_STEPS} steps are changed through the API.</p>
        )}
        {unheard.length > 0 && (
          <ul>
            {unheard.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
        )}
        <p>
          <button
            type="button"
            onClick={() => edit(safetyForm(plant))({ characteristicIds: safetyCharacteristicIds })}
          >
            {refusal === null ? 'Say which' : 'Look which'} characteristics are about safety (
            {safetyCharacteristicIds.length})
          </button>
        </p>
      </RecordSection>
      {editing.value !== null && (
        <RecordDialog
          {...editing.value}
          close={() => {
            editing.value = null;
            load();
          }}
        />
      )}
    </>
  );
}

function RecipientActions({
  recipient: { id, name, to },
  hasSecret,
  tried,
}: {
  recipient: Recipient;
  hasSecret: boolean;
  tried: (work: () => Promise<string>) => Promise<void>;
}) {
  const params = { id };
  return (
    <li class="row">
      <span>
        {name}
        {to.by === 'webhook' && !hasSecret && ': no secret to sign with yet, so nothing is sent'}
      </span>
      {to.by === 'webhook' && (
        <button
          type="button"
          onClick={() =>
            tried(async () => {
              const { secret } = await call('POST /api/routing/recipients/{id}/secret', { params, body: {} });
              return `The new secret of ${name}, shown this once: ${secret}`;
            })
          }
        >
          Make a new secret<span class="visually-hidden"> for {name}</span>
        </button>
      )}
      <button
        type="button"
        onClick={() =>
          tried(async () => {
            await call('POST /api/routing/recipients/{id}/test', { params });
            return `A test to ${name} is on its way.`;
          })
        }
      >
        Send a test<span class="visually-hidden"> to {name}</span>
      </button>
    </li>
  );
}
