/** What people write cannot become a header of a mail, or a further recipient (CWE-93). ASVS 1.3.11. */
import type { AddressInfo } from 'node:net';
import { SMTPServer } from 'smtp-server';
import { afterEach, beforeEach, expect, it } from 'vitest';
import type { DeliveryRow } from '../../api/notify/deliveries.ts';
import { mailDoor } from '../../api/notify/mail.ts';
import { Recipient } from '../../api/schemas.ts';

interface Came {
  readonly to: readonly string[];
  readonly head: string;
}

const came: Came[] = [];
let server: SMTPServer;
beforeEach(async () => {
  came.length = 0;
  server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onData(stream, { envelope }, done) {
      let text = '';
      stream.on('data', (chunk) => {
        text += chunk;
      });
      stream.on('end', () => {
        came.push({ to: envelope.rcptTo.map(({ address }) => address), head: text.split('\r\n\r\n')[0]! });
        done();
      });
    },
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', () => done()));
});
afterEach(() => new Promise<void>((done) => server.close(() => done())));

const namesOf = (head: string): string[] =>
  [...head.matchAll(/^([\w-]+):/gm)].map(([, name]) => name!.toLowerCase()).sort();

async function send(subject: string, text = 'x'): Promise<Came> {
  const { port } = server.server.address() as AddressInfo;
  const door = mailDoor(
    { url: `smtp://127.0.0.1:${port}`, from: 'Runtrue <runtrue@plant.example>' },
    async () => ({
      to: 'kim@plant.example',
      text,
    }),
  );
  await door({ id: 'one', subject } as DeliveryRow, new AbortController().signal);
  return came.at(-1)!;
}

it.each([
  ['a line end', 'Alarm\r\nBcc: spy@other.example'],
  ['a bare line feed', 'Alarm\nBcc: spy@other.example'],
  ['a bare carriage return', 'Alarm\rBcc: spy@other.example'],
  ['the end of all headers', 'Alarm\r\n\r\nBcc: spy@other.example\r\n\r\nanother text'],
  ['a folded line', 'Alarm\r\n Bcc: spy@other.example'],
  [
    'other signs that some take for a line end',
    'Alarm\u2028Bcc: spy@other.example\u0085Bcc: x@other.example',
  ],
])('%s in a subject stays in the subject', async (_, subject) => {
  const plain = await send('Alarm');
  const mail = await send(subject);
  expect(mail.to).toEqual(['kim@plant.example']);
  expect(namesOf(mail.head)).toEqual(namesOf(plain.head));
});

it('what stands in the text stays in the text', async () => {
  const mail = await send('Alarm', '.\r\nRCPT TO:<spy@other.example>\r\n.\r\nDATA\r\nBcc: spy@other.example');
  expect(came).toHaveLength(1);
  expect(mail.to).toEqual(['kim@plant.example']);
  expect(namesOf(mail.head)).not.toContain('bcc');
});

it.each([
  'kim@plant.example, spy@other.example',
  'kim@plant.example\r\nBcc: spy@other.example',
  '"kim" <spy@other.example>',
  'group: kim@plant.example;',
  'kim@plant.example ',
])('%j is no address of a recipient', (address) => {
  const recipient = { id: 'kim', name: 'Kim', personId: null };
  expect(
    Recipient.safeParse({ ...recipient, to: { by: 'mail', address: 'kim@plant.example' } }).success,
  ).toBe(true);
  expect(Recipient.safeParse({ ...recipient, to: { by: 'mail', address } }).success).toBe(false);
});
