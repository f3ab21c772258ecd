import type { ComponentChildren } from 'preact';
import { whyNotSave } from '../permissions.ts';
import { WideTable } from '../ui/WideTable.tsx';
import { type FormField, type RecordForm, typedFrom } from './record-forms.ts';

/** A table stays readable with this many columns; the rest is in the form. */
const SHOWN_COLUMNS = 5;

/** The records of one kind, with a way to add one and to change each. */
export function RecordSection({
  form,
  records,
  edit,
  children,
}: {
  form: RecordForm;
  records: readonly unknown[];
  edit: (record: unknown) => void;
  children?: ComponentChildren;
}) {
  const refusal = whyNotSave(form.kind);
  const verb = refusal === null ? 'Change' : 'Look at';
  const columns = form.fields.slice(0, SHOWN_COLUMNS);
  return (
    <details class="panel" open={records.length === 0 && !form.optional}>
      <summary>
        <h2>{form.title}</h2> <span>{records.length}</span>
      </summary>
      <p>{form.why}</p>
      {records.length > 0 && (
        <WideTable label={`${form.title}, table`}>
          <table>
            <thead>
              <tr>
                {columns.map((field) => (
                  <th key={field.name} scope="col">
                    {field.label}
                  </th>
                ))}
                <th scope="col">{verb}</th>
              </tr>
            </thead>
            <tbody>
              {records.map((record) => {
                const typed = typedFrom(form, record);
                const key = form.keys.map((name) => typed[name]).join(' ');
                return (
                  <tr key={key}>
                    {columns.map((field) => (
                      <td key={field.name}>{inWords(field, typed[field.name] ?? '')}</td>
                    ))}
                    <td>
                      <button type="button" onClick={() => edit(record)}>
                        {verb} <span class="visually-hidden">{key}</span>
                      </button>
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </WideTable>
      )}
      {refusal === null ? (
        <button type="button" class="main" onClick={() => edit(null)}>
          Add a {form.one}
        </button>
      ) : (
        <p>{refusal}</p>
      )}
      {children}
    </details>
  );
}

/** What a table shows of a field: the words of the form instead of what is stored. */
function inWords(field: FormField, typed: string): string {
  const nameOf = (value: string) =>
    ('choices' in field ? field.choices.find((choice) => choice.value === value)?.name : undefined) ?? value;
  return typed.split('\n').map(nameOf).join(', ');
}
