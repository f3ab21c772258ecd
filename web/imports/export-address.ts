export interface ExportChoice {
  readonly streamId: string;
  readonly modelId: string;
  readonly from: string | null;
  readonly to: string | null;
  readonly form: 'wide' | 'long';
  readonly decimalMark: '.' | ',';
}

/** Where the file of a choice is. */
export function exportAddress({ streamId, modelId, from, to, form, decimalMark }: ExportChoice): string {
  const query = new URLSearchParams({ streamId, modelId, form, decimalMark });
  if (from !== null) query.set('from', from);
  if (to !== null) query.set('to', to);
  return `/api/export.csv?${query}`;
}
