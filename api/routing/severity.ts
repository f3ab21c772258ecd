import type { PlantModel, Severity } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import type { AlarmRow } from '../store/store.ts';

/** The worst first. */
export const severities: readonly Severity[] = ['safety', 'product', 'process'];

export const isWorse = (a: Severity, b: Severity): boolean => severities.indexOf(a) < severities.indexOf(b);

/**
 * What the plant names safety-relevant comes before everything; then parts outside the drawing, even if a correction
 * has brought them inside since; then a chart that signals while no part is surely outside (a doubted value is measured again first).
 */
export async function severityOf(
  sql: Sql,
  { streams }: PlantModel,
  safetyCharacteristicIds: readonly string[],
  alarm: Pick<AlarmRow, 'id' | 'streamId'>,
): Promise<Severity> {
  const characteristicId = streams.find(({ id }) => id === alarm.streamId)?.characteristicId ?? '';
  if (safetyCharacteristicIds.includes(characteristicId)) return 'safety';
  const outside = await sql.one('select 1 from outside_samples where alarm_id = ? limit 1', alarm.id);
  return outside === null ? 'process' : 'product';
}
