/**
 * For the runner of the tests: one PostgreSQL server for the whole run, started when the first test asks for it and
 * stopped at the end. Tests run in processes of their own, so they ask over HTTP.
 */
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { TestProject } from 'vitest/node';
import { type Cluster, startCluster } from './cluster.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** Answers with the address of a superuser. */
    postgresStarter: string;
  }
}

export default async function share(project: TestProject): Promise<() => Promise<void>> {
  // Another server than the one of the package, such as an older version: the address of its superuser. It needs a
  // role "runtrue" that may log in with the same password.
  const given = process.env.RUNTRUE_TEST_POSTGRES;
  let cluster: Promise<Cluster> | null = null;
  const starter = createServer((_, response) => {
    if (given) return response.end(given);
    cluster ??= startCluster();
    cluster.then(
      ({ adminAddress }) => response.end(adminAddress),
      (error: unknown) => {
        response.statusCode = 500;
        response.end(String(error));
      },
    );
  });
  await new Promise<void>((done) => starter.listen(0, '127.0.0.1', done));
  project.provide('postgresStarter', `http://127.0.0.1:${(starter.address() as AddressInfo).port}`);
  return async () => {
    starter.close();
    await (await cluster?.catch(() => null))?.stop();
  };
}
