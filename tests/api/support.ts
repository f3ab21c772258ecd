/** The app in process, each answer held against the contract. */
import { randomUUID } from 'node:crypto';
import { expect } from 'vitest';
import { type Answer, contract, type EndpointKey, type Sent } from '../../api/contract.ts';
import { Problem } from '../../api/schemas.ts';
import { assembleApp, type Loose, requestTo, start } from './assemble-app.ts';

export { requestTo, start } from './assemble-app.ts';
export { secondSignature, setLimits, setUpPlant } from './small-plant.ts';

/** Reads an answer and holds it against the contract: its schema, and not a field more. */
async function answerOf<K extends EndpointKey>(key: K, response: Response): Promise<Answer<K>> {
  const text = await response.text();
  expect(response.status, text).toBe(200);
  expect(response.headers.get('content-type')).toBe('application/json');
  const answer = JSON.parse(text);
  const checked = contract[key].response.safeParse(answer);
  expect(checked.error?.issues ?? []).toEqual([]);
  expect(answer).toEqual(checked.data);
  return answer;
}

/** Reads a refusal and holds it against RFC 9457. */
export async function problemOf(response: Response): Promise<Problem> {
  const text = await response.text();
  expect(response.headers.get('content-type'), text.slice(0, 200)).toBe('application/problem+json');
  const problem = Problem.strict().parse(JSON.parse(text));
  expect(problem.status).toBe(response.status);
  expect(problem.detail).not.toMatch(/\bat .*\.(?:ts|js):\d+/);
  return problem;
}

export function openApp(options: Parameters<typeof assembleApp>[0] = {}) {
  const parts = assembleApp(options);
  const { logged, fetch } = parts;
  /** What the log says, where an answer should have come and did not. */
  const send = async (request: Request): Promise<Response> => {
    const before = logged.length;
    const response = await fetch(request);
    expect(logged.slice(before)).toEqual([]);
    return response;
  };
  return {
    ...parts,
    call: async <K extends EndpointKey>(key: K, sent?: Sent<K>, person: string | null = 'kim') =>
      answerOf(key, await send(requestTo(key, sent as Loose, person))),
    refused: async (key: EndpointKey, sent?: Loose, person: string | null = 'kim') =>
      problemOf(await fetch(requestTo(key, sent, person))),
  };
}
export type TestApp = ReturnType<typeof openApp>;

/** Five widths about a mean, with a range of 0.4 mm. */
export const widths = (mean: number, { takenAt = start, id = randomUUID() as string } = {}) => ({
  id,
  streamId: 'C5-R1',
  modelId: 'Q10',
  takenAt: new Date(takenAt).toISOString(),
  unit: 'mm' as const,
  readings: [-0.2, -0.1, 0, 0.1, 0.2].map((difference) => ({
    value: Math.round((mean + difference) * 100) / 100,
  })),
});
