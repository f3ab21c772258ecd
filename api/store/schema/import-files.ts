import type { SchemaStep } from './steps.ts';

/**
 * Files that were uploaded and wait for their import, and how far it is, where every node finds them. They are no
 * records: backups and moves leave them out.
 */
export const importFiles: SchemaStep = (t) => `
  -- state: arriving, uploaded, running, done, failed. claim: the one piece of work on it that is under way, the
  -- arrival among them; claimed_until: when whoever does it counts as dead.
  create table import_files (
    no ${t.counted}, id text not null unique, name text not null, person_id text, at ${t.integer} not null,
    state text not null, content text, bytes ${t.integer} not null, done ${t.integer} not null,
    total ${t.integer} not null, problem text, claim text, claimed_until ${t.integer}
  ) ${t.strict};
  create table import_file_pieces (
    file_id text not null references import_files (id) on delete cascade, no ${t.integer} not null,
    bytes ${t.bytes} not null, primary key (file_id, no)
  ) ${t.strict};
`;
