import type { SchemaStep } from './steps.ts';

/** Who is who at an OpenID Connect provider. */
export const identities: SchemaStep = (t) => `
  -- Somebody at the provider, bound to a person here or waiting for it. subject is null until an announced address
  -- has signed in for the first time; from then on the subject counts, and the address no longer does.
  create table identities (
    id text not null primary key, issuer text not null, subject text, email text, name text,
    person_id text, bound_by text, bound_at ${t.integer}, first_seen_at ${t.integer}
  ) ${t.strict};
  create unique index identities_of_subject on identities (issuer, subject);

  -- Sign-ins under way, each found by the digest of the cookie of its browser; taken out when it comes back.
  create table provider_visits (
    token_digest text not null primary key, state text not null, nonce text not null, verifier text not null,
    expires_at ${t.integer} not null
  ) ${t.strict};
`;
