import type { EndpointKey } from '../contract.ts';
import type { KeyReach, PlantModel } from '../schemas.ts';
import { keyReachesNot } from './key-refusals.ts';

/** What a request is about. */
export interface About {
  readonly streamId?: string | undefined;
  readonly lineId?: string | undefined;
}

/** Name no stream and tell nothing about one: what a gauge or importer needs before it can name its own. */
const openToAll: ReadonlySet<string> = new Set<EndpointKey>([
  'GET /api/plant',
  'GET /api/calculations',
  'GET /api/imports/{id}',
  'POST /api/imports/{id}/shape',
]);

/** The stream and line that a request to an endpoint of the contract names; null where that does not matter. */
export function aboutOf(key: EndpointKey, ...parts: readonly unknown[]): About | null {
  if (openToAll.has(key)) return null;
  const { streamId, lineId } = Object.assign({}, ...parts) as Record<string, unknown>;
  const id = (value: unknown): string | undefined => (typeof value === 'string' ? value : undefined);
  return { streamId: id(streamId), lineId: id(lineId) };
}

/** Refuses whatever is about another stream or line, or about none in particular. */
export function refuseOutOfReach(
  keyId: string,
  { lines, streams }: KeyReach,
  { streamId, lineId }: About,
  plant: PlantModel,
): void {
  const lineOfStream = (id: string): string | undefined => {
    const stream = plant.streams.find((one) => one.id === id);
    return plant.stations.find((one) => one.id === stream?.stationId)?.lineId;
  };
  const reached = [...lines.map((id) => `line ${id}`), ...streams.map((id) => `stream ${id}`)].join(', ');
  if (streamId === undefined && lineId === undefined) throw keyReachesNot(keyId, reached, null);
  const lineOfNamed = streamId === undefined ? undefined : lineOfStream(streamId);
  if (streamId !== undefined && !streams.includes(streamId) && !lines.includes(lineOfNamed ?? ''))
    throw keyReachesNot(keyId, reached, `stream ${JSON.stringify(streamId)}`);
  if (lineId !== undefined && lineId !== lineOfNamed && !lines.includes(lineId))
    throw keyReachesNot(keyId, reached, `line ${JSON.stringify(lineId)}`);
}
