import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { request as httpRequest, type IncomingMessage } from 'node:http';
import { gunzipSync, inflateSync } from 'node:zlib';
import { calculationProcesses } from '../../api/calculations/calculation-processes.ts';
import type { EndpointKey, Sent } from '../../api/contract.ts';
import { assembleApp, type Loose, requestTo, start } from '../api/assemble-app.ts';
import { setLimits, setUpPlant } from '../api/small-plant.ts';
import type { Target } from './attack.ts';
import { people } from './fitting.ts';
import type { Arrived } from './judge.ts';
import type { AttackRequest } from './requests.ts';

const unzipped = (bytes: Buffer, encoding: string | null | undefined): string =>
  (encoding === 'gzip' ? gunzipSync(bytes) : encoding === 'deflate' ? inflateSync(bytes) : bytes).toString();

/** The body; of an endless stream enough to see that it began. */
async function beginningOf(response: Response): Promise<string> {
  if (!(response.headers.get('content-type') ?? '').startsWith('text/event-stream'))
    return unzipped(Buffer.from(await response.arrayBuffer()), response.headers.get('content-encoding'));
  if (response.body === null) return '';
  const reader = response.body.getReader();
  const { value } = await reader.read();
  await reader.cancel();
  return Buffer.from(value ?? []).toString();
}

/** The whole app in this process, with the small plant; `built` is the folder of the build. */
export async function appUnderAttack(built: string) {
  const descriptionFile = `${built}/core-description.json`;
  const calculations = calculationProcesses({
    description: JSON.parse(readFileSync(descriptionFile, 'utf8')),
    programFile: `${built}/server/calculation-process.js`,
    descriptionFile,
    milliseconds: 2000,
  });
  const parts = assembleApp({ calculations });
  const call = async <K extends EndpointKey>(key: K, sent?: Sent<K>, person: string | null = 'kim') => {
    const response = await parts.fetch(requestTo(key, sent as Loose, person));
    if (response.status !== 200) throw new Error(`${key}: ${await response.text()}`);
    return response.json();
  };
  await setUpPlant({ call });
  await setLimits({ call });
  // Something to work on: a line that waits for its first piece, and an open alarm.
  const at = new Date(start).toISOString();
  const about = { lineId: 'R1', stationId: null, streamId: null, modelId: 'Q10' };
  await call('POST /api/events', {
    body: { id: randomUUID(), kind: 'changeover', at, ...about, until: null, lot: null, text: '' },
  } as never);
  for (const [streamId, value] of [
    ['C5-R1', 129],
    ['C6-R1', 0.4],
  ] as const)
    await call('POST /api/samples', {
      body: {
        id: randomUUID(),
        streamId,
        modelId: 'Q10',
        takenAt: at,
        unit: 'mm',
        readings: Array.from({ length: 5 }, () => ({ value })),
      },
    });
  // What the attack did to those who act would keep it out from then on.
  const restore = async (): Promise<void> => {
    for (const [id, role] of Object.entries(people)) {
      const record = { id, name: id, role };
      const by = { personId: id, door: 'api', how: 'named' } as const;
      await parts.monitoring.savePlantRecord({ kind: 'people', record }, 'Back to the one who may', by);
    }
  };
  await restore();
  const document = await (await parts.fetch(new Request('http://127.0.0.1/api/openapi.json'))).json();
  return {
    parts,
    document,
    restore,
    faultsLogged: () => parts.logged.length,
    close: async () => {
      calculations.end();
      await parts.close();
    },
  };
}

type UnderAttack = Awaited<ReturnType<typeof appUnderAttack>>;

/** Straight into the app. */
export function inProcess({ parts, document, restore, faultsLogged }: UnderAttack): Target {
  return {
    document,
    restore,
    faultsLogged,
    async send({ method, address, headers, body }) {
      const request = new Request(`http://127.0.0.1${address}`, {
        method,
        headers: headers.map(([name, value]): [string, string] => [name, value]),
        ...(body === null ? {} : { body: body as BodyInit }),
      });
      const response = await parts.fetch(request);
      const text = await beginningOf(response);
      return { status: response.status, contentType: response.headers.get('content-type'), text };
    },
  };
}

/** Through a socket. Addresses and headers go out as they were drawn, where Node.js lets them. */
export function sendTo(port: number): (request: AttackRequest) => Promise<Arrived> {
  return ({ method, address, headers, body }) =>
    new Promise((done, failed) => {
      const outgoing = httpRequest(
        {
          port,
          host: '127.0.0.1',
          method,
          path: address.replace(/[^!-~]/g, encodeURIComponent),
          headers: {
            ...Object.fromEntries(headers),
            ...(body === null ? {} : { 'Content-Length': body.length }),
          },
        },
        (incoming: IncomingMessage) => {
          const contentType = incoming.headers['content-type'] ?? null;
          const pieces: Buffer[] = [];
          const finish = (): void => {
            const text = unzipped(Buffer.concat(pieces), incoming.headers['content-encoding']);
            done({ status: incoming.statusCode!, contentType, text });
          };
          incoming.on('data', (piece: Buffer) => {
            pieces.push(piece);
            if (contentType?.startsWith('text/event-stream')) incoming.destroy();
          });
          incoming.on('end', finish);
          incoming.on('close', finish);
        },
      );
      outgoing.on('error', failed);
      outgoing.end(body ?? undefined);
    });
}
