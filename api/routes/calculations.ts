import type { AppParts } from '../app-parts.ts';
import { type App, type Handle, jsonText, readQuery } from '../http/handle.ts';
import { readJsonText } from '../http/read-body.ts';
import { ProblemError, unknown } from '../problem.ts';
import type { Admit } from '../who.ts';

/** Each public function of src/ that JSON can reach has an address; calling it stores nothing. */
export function calculationRoutes(app: App, handle: Handle, admit: Admit, { calculations }: AppParts): void {
  const functions = calculations?.description.functions ?? [];
  const described = new Map(functions.map((one) => [one.name, one]));

  handle('GET /api/calculations', () =>
    functions
      .filter(({ schemas }) => schemas !== null)
      .map(({ name, folder, summary }) => ({ name, folder, summary, address: `/api/calculations/${name}` })),
  );

  // By hand: the form of the body comes from the function, not from the contract.
  app.post('/api/calculations/:name', async (context) => {
    await admit(context.req.raw, 'read', 'about no stream');
    readQuery(context, []);
    const name = context.req.param('name');
    const one = described.get(name);
    if (calculations === null || one === undefined) throw unknown('calculation', name, 'name');
    if (one.schemas === null) {
      const message = `${name} works on typed arrays, which JSON does not have; import the statistics core instead.`;
      throw new ProblemError(404, 'Not found', message, [{ field: 'name', message }]);
    }
    return jsonText(await calculations.run(name, await readJsonText(context.req.raw)));
  });
}
