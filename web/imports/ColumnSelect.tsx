import type { SelectHTMLAttributes } from 'preact';

/** Chooses one column of the file by its name; `none` offers to take none. */
export function ColumnSelect({
  columns,
  value,
  onColumn,
  none,
  ...rest
}: {
  columns: readonly string[];
  value: number | null;
  onColumn: (column: number | null) => void;
  none?: string;
} & Pick<SelectHTMLAttributes, 'id' | 'aria-describedby' | 'aria-invalid'>) {
  return (
    <select
      {...rest}
      value={value === null ? '' : String(value)}
      onChange={(event) =>
        onColumn(event.currentTarget.value === '' ? null : Number(event.currentTarget.value))
      }
    >
      <option value="" disabled={none === undefined}>
        {none ?? 'Choose…'}
      </option>
      {columns.map((name, column) => (
        <option key={column} value={String(column)}>
          {name}
        </option>
      ))}
    </select>
  );
}
