/** `npm run load -- http://127.0.0.1:8080 --clients 16 --boards 200 --seconds 20`: see the words below. */
import { parseArgs } from 'node:util';
import { generateLoad, printLoad } from './generate-load.ts';

const usage = `Usage: npm run load -- <address> [--boards-at <address>] [--clients 4] [--boards 0] [--seconds 10]
  [--rate 0] [--person <id> | --key <key>]
Sends samples of every measured stream of a running server, and counts how soon boards hear of them.
The samples are stored for good: point it at a plant that is made for it.`;

try {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      'boards-at': { type: 'string' },
      clients: { type: 'string', default: '4' },
      boards: { type: 'string', default: '0' },
      seconds: { type: 'string', default: '10' },
      rate: { type: 'string', default: '0' },
      person: { type: 'string' },
      key: { type: 'string' },
    },
  });
  const number = (text: string, least: number): number => {
    const value = Number(text);
    if (!(value >= least)) throw new Error(`${JSON.stringify(text)} must be a number, at least ${least}.`);
    return value;
  };
  const [address] = positionals;
  if (address === undefined || !URL.canParse(address)) throw new Error('Say which address to send to.');
  const headers: Record<string, string> = {};
  if (values.person !== undefined) headers['Runtrue-Person'] = values.person;
  if (values.key !== undefined) headers.Authorization = `Bearer ${values.key}`;
  const result = await generateLoad({
    address: new URL(address).origin,
    ...(values['boards-at'] === undefined ? {} : { boardAddress: new URL(values['boards-at']).origin }),
    clients: number(values.clients, 1),
    boards: number(values.boards, 0),
    seconds: number(values.seconds, 0.1),
    rate: number(values.rate, 0),
    headers,
  });
  printLoad(address, result);
} catch (error) {
  console.error(`${(error as Error).message}\n\n${usage}`);
  process.exit(2);
}
