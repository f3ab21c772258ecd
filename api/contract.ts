/**
 * The list of endpoints: one entry each, keyed "METHOD /path". The server registers exactly these, the OpenAPI
 * document is drawn from them, and the page's client is typed from them, so the three cannot drift apart.
 */
import { z } from '@hono/zod-openapi';
import type { Action } from './permissions.ts';
import * as s from './schemas.ts';

interface Endpoint {
  readonly summary: string;
  readonly tag: string;
  /** What is done here: api/permissions.ts says who may. */
  readonly action: Action;
  /** Some of what can be sent here is another action as well. */
  readonly furtherAction?: (body: unknown) => Action | null;
  readonly params?: z.ZodObject;
  readonly query?: z.ZodObject;
  readonly body?: z.ZodType;
  readonly response: z.ZodType;
  /** Goes into the record under the name of the person who acts. */
  readonly signed?: true;
  /**
   * Takes the header Idempotency-Key: under one key it is carried out once, however often it is sent. Not for answers
   * that show a secret, for they are kept.
   */
  readonly once?: true;
}

const endpoints = <const T extends Record<string, Endpoint>>(list: T): T => list;

const ok = z.object({ ok: z.literal(true) });
const idParam = z.object({ id: s.Id });
const uuidParam = z.object({ id: z.uuid() });
const numberParam = z.object({ id: z.coerce.number().int().min(1) });
/** A place in a list, as the header Link of the page before has it; 0 is before everything. */
const cursor = z.coerce.number().int().min(0).openapi({ type: 'integer' });
const wholeNumber = (max: number) => z.coerce.number().int().min(1).max(max);
/** A change of a plant record says why; a first record need not. */
const saved = <T extends z.ZodType>(record: T) =>
  z.strictObject({ record, reason: z.string().trim().max(2000).optional() });
/** A change of what parts are judged by carries two signatures. */
const savedByTwo = <T extends z.ZodType>(record: T) =>
  saved(record).extend({ secondSignature: s.SecondSignature.optional() });

export const contract = endpoints({
  'GET /api/health': {
    summary: 'Is the server well, and what time does it hold?',
    tag: 'server',
    action: 'come in',
    response: s.Health,
  },

  'GET /api/permissions': {
    summary: 'Who may do what, and what may whoever asks?',
    tag: 'sign-in',
    action: 'read',
    response: s.Permissions,
  },
  'GET /api/session': {
    summary: 'Who is here, and what may be done?',
    tag: 'sign-in',
    action: 'come in',
    response: s.Session,
  },
  'POST /api/session': {
    summary: 'Sign in; the answer sets the cookie of the session',
    tag: 'sign-in',
    action: 'come in',
    body: s.SignInSubmission,
    response: ok,
  },
  'DELETE /api/session': {
    summary: 'Sign out',
    tag: 'sign-in',
    action: 'come in',
    response: ok,
  },
  'POST /api/session/use': {
    summary: 'Say that a person is still at work here, so that the session goes on',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    response: ok,
  },
  'DELETE /api/session/everywhere': {
    summary: 'Sign out on every device',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    response: ok,
  },
  'PUT /api/session/secrets': {
    summary: 'Choose another password or PIN; every other session ends',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    body: z.strictObject({ current: s.LinkToken.max(200), ...s.Secrets.shape }),
    response: ok,
  },
  'GET /api/sessions': {
    summary: 'Where the person who asks is signed in',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    response: z.array(s.OwnSession),
  },
  'DELETE /api/sessions/{id}': {
    summary: 'Sign out in one other place',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    params: idParam,
    response: ok,
  },
  'GET /api/second-factor': {
    summary: 'Has the person who asks an authenticator beside the password?',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    response: s.SecondFactor,
  },
  'POST /api/second-factor': {
    summary: 'Begin with a new authenticator; shows its secret and recovery codes',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    body: z.strictObject({ current: s.LinkToken.max(200) }),
    response: s.NewSecondFactor,
  },
  'PUT /api/second-factor': {
    summary: 'Give the first code of the new authenticator, which then counts; every other session ends',
    tag: 'sign-in',
    action: 'look after their own sign-in',
    body: z.strictObject({ code: s.LinkToken }),
    response: ok,
  },
  'GET /api/second-factor/roles': {
    summary: 'For which roles is a password alone not enough?',
    tag: 'sign-in',
    action: 'manage people',
    response: s.SecondFactorRoles,
  },
  'PUT /api/second-factor/roles': {
    summary: 'Say for which roles a password alone is not enough; counts from their next sign-in',
    tag: 'sign-in',
    action: 'manage people',
    body: s.SecondFactorRoles,
    response: ok,
  },
  'DELETE /api/accounts/{id}/second-factor': {
    summary: 'Reset the second factor of somebody who has lost it, and sign them out everywhere',
    tag: 'sign-in',
    action: 'manage people',
    params: idParam,
    response: ok,
  },
  'POST /api/one-time-links/look': {
    summary: 'What is this one-time link for?',
    tag: 'sign-in',
    action: 'come in',
    body: z.strictObject({ token: s.LinkToken }),
    response: s.OneTimeLink,
  },
  'POST /api/one-time-links/secrets': {
    summary: 'Choose password or PIN by a one-time link, and be signed in',
    tag: 'sign-in',
    action: 'come in',
    body: z.strictObject({ token: s.LinkToken, ...s.Secrets.shape, code: s.LinkToken.optional() }),
    response: ok,
  },
  'POST /api/one-time-links/first-administrator': {
    summary: 'Become the first administrator by the link that the server printed at its start',
    tag: 'sign-in',
    action: 'come in',
    body: z.strictObject({
      token: s.LinkToken,
      person: s.Person.pick({ id: true, name: true }),
      ...s.Secrets.shape,
    }),
    response: ok,
  },
  'GET /api/accounts': {
    summary: 'Who can sign in, and how',
    tag: 'sign-in',
    action: 'manage people',
    response: z.array(s.Account),
  },
  'POST /api/accounts/{id}/link': {
    summary: 'Make a one-time link with which a person chooses password and PIN',
    tag: 'sign-in',
    action: 'manage people',
    params: idParam,
    response: s.OneTimeSecret,
  },
  'DELETE /api/accounts/{id}': {
    summary: 'Take away how a person signs in, and sign them out everywhere',
    tag: 'sign-in',
    action: 'manage people',
    params: idParam,
    response: ok,
  },
  'POST /api/stations/{id}/registration-code': {
    summary: 'Make a one-time code that registers a browser as this station',
    tag: 'sign-in',
    action: 'register stations',
    params: idParam,
    response: s.OneTimeSecret,
  },
  'POST /api/registered-stations': {
    summary: 'Register this browser as a station by a one-time code',
    tag: 'sign-in',
    action: 'come in',
    body: z.strictObject({ code: s.LinkToken }),
    response: ok,
  },
  'GET /api/registered-stations': {
    summary: 'Browsers that stand at a station',
    tag: 'sign-in',
    action: 'register stations',
    response: z.array(s.RegisteredStation),
  },
  'DELETE /api/registered-stations/{id}': {
    summary: 'End the registration of a browser, and every session there',
    tag: 'sign-in',
    action: 'register stations',
    params: uuidParam,
    response: ok,
  },

  'GET /api/plant': {
    summary: 'The whole model of the plant',
    tag: 'plant',
    action: 'read',
    response: s.PlantModel,
  },
  'PUT /api/plant': {
    summary: 'Name the plant and set its local time',
    tag: 'plant',
    action: 'change the plant',
    body: saved(s.Plant),
    response: ok,
    signed: true,
    once: true,
  },
  // The first person of an empty plant signs for themselves.
  'PUT /api/people/{id}': {
    summary: 'Add or change a person',
    tag: 'plant',
    action: 'manage people',
    params: idParam,
    body: saved(s.Person),
    response: ok,
    once: true,
  },
  'PUT /api/lines/{id}': {
    summary: 'Add or change a line',
    tag: 'plant',
    action: 'change the plant',
    params: idParam,
    body: saved(s.Line),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/stations/{id}': {
    summary: 'Add or change a station',
    tag: 'plant',
    action: 'change the plant',
    params: idParam,
    body: saved(s.Station),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/models/{id}': {
    summary: 'Add or change a part model',
    tag: 'plant',
    action: 'change the plant',
    params: idParam,
    body: saved(s.PartModel),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/characteristics/{id}': {
    summary: 'Add or change a characteristic',
    tag: 'plant',
    action: 'change the plant',
    params: idParam,
    body: saved(s.Characteristic),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/specifications/{characteristicId}/{modelId}': {
    summary: 'Set what the drawing asks of a part model',
    tag: 'plant',
    action: 'change specifications and sampling plans',
    params: z.object({ characteristicId: s.Id, modelId: s.Id }),
    body: savedByTwo(s.Specification),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/streams/{id}': {
    summary: 'Add or change a stream',
    tag: 'plant',
    action: 'change the plant',
    params: idParam,
    body: saved(s.Stream),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/plans/{id}': {
    summary: 'Add or change the sampling plan of a stream',
    tag: 'plant',
    action: 'change specifications and sampling plans',
    params: idParam,
    body: savedByTwo(s.SamplingPlan),
    response: ok,
    signed: true,
    once: true,
  },

  'GET /api/sign-in/provider': {
    summary: 'Can people sign in by an OpenID Connect provider? Its name; null: they cannot',
    tag: 'sign-in',
    action: 'come in',
    response: z.strictObject({ name: z.string().nullable() }),
  },
  'GET /api/identities': {
    summary: 'Who is who at the sign-in provider',
    tag: 'sign-in',
    action: 'manage people',
    response: z.array(s.Identity),
  },
  'POST /api/identities': {
    summary: 'Let whoever has this verified e-mail address at the provider sign in as a person',
    tag: 'sign-in',
    action: 'manage people',
    body: z.strictObject({ email: z.email().max(254), personId: s.Id }),
    response: s.Identity,
  },
  'PUT /api/identities/{id}': {
    summary: 'Say which person somebody at the provider is; null: nobody, and every session ends',
    tag: 'sign-in',
    action: 'manage people',
    params: uuidParam,
    body: z.strictObject({ personId: s.Id.nullable() }),
    response: s.Identity,
  },

  'GET /api/keys': {
    summary: 'Every key that a program was given',
    tag: 'keys',
    action: 'manage keys',
    response: z.array(s.ApiKey),
  },
  'POST /api/keys': {
    summary: 'Make a key for a program; its secret is shown in this answer only',
    tag: 'keys',
    action: 'manage keys',
    body: s.NewApiKey,
    response: s.MadeApiKey,
    signed: true,
  },
  'POST /api/keys/{id}/revocation': {
    summary: 'End a key at once',
    tag: 'keys',
    action: 'manage keys',
    params: idParam,
    body: z.strictObject({ reason: z.string().trim().min(1).max(2000) }),
    response: s.ApiKey,
    signed: true,
    once: true,
  },

  'POST /api/samples': {
    summary: 'Enter a sample and get its verdict',
    tag: 'samples',
    action: 'enter samples',
    body: s.SampleSubmission,
    response: s.SampleAnswer,
    signed: true,
    once: true,
  },
  'GET /api/samples': {
    summary: 'Samples of a stream in order of arrival; the header Link leads on',
    tag: 'samples',
    action: 'read',
    query: z.object({ streamId: s.Id, after: cursor.optional(), limit: wholeNumber(500).optional() }),
    response: z.array(s.Sample),
  },
  'GET /api/signals': {
    summary: 'Signals of a stream in order of arrival; the header Link leads on',
    tag: 'samples',
    action: 'read',
    query: z.object({ streamId: s.Id, after: cursor.optional(), limit: wholeNumber(500).optional() }),
    response: z.array(s.Signal),
  },
  'GET /api/samples/{id}': {
    summary: 'A sample with its corrections and signals',
    tag: 'samples',
    action: 'read',
    params: uuidParam,
    response: s.SampleHistory,
  },
  'POST /api/samples/{id}/corrections': {
    summary: 'Correct a sample by a new record with a reason',
    tag: 'samples',
    action: 'correct samples',
    params: uuidParam,
    body: s.SampleCorrection,
    response: s.SampleAnswer,
    signed: true,
    once: true,
  },
  'POST /api/missed-samples': {
    summary: 'Say that a planned sample was not taken, and why',
    tag: 'samples',
    action: 'declare missed samples',
    body: s.MissedSampleSubmission,
    response: s.MissedSample,
    signed: true,
    once: true,
  },

  'GET /api/limits': {
    summary: 'Every version of the control limits of a stream and part model',
    tag: 'limits',
    action: 'read',
    query: z.object({ streamId: s.Id, modelId: s.Id }),
    response: z.array(s.LimitsVersion),
  },
  'POST /api/limits': {
    summary: 'Freeze control limits with a reason',
    tag: 'limits',
    action: 'freeze control limits',
    body: s.LimitsRequest,
    response: s.LimitsVersion,
    signed: true,
    once: true,
  },

  'POST /api/events': {
    summary: 'Record an event on a line',
    tag: 'events',
    action: 'record events',
    body: s.EventSubmission,
    response: s.PlantEvent,
    signed: true,
    once: true,
  },
  'GET /api/events': {
    summary: 'Events of a line in a period; with after, in order of arrival, and the header Link leads on',
    tag: 'events',
    action: 'read',
    query: z.object({
      lineId: s.Id,
      from: s.Time.optional(),
      to: s.Time.optional(),
      after: cursor.optional(),
      limit: wholeNumber(500).optional(),
    }),
    response: z.array(s.PlantEvent),
  },

  'GET /api/restarts': {
    summary: 'Changes of a set-up: those without an approved first piece, or the newest of a line',
    tag: 'restarts',
    action: 'read',
    query: z.object({
      lineId: s.Id.optional(),
      /** true where it is left out: only those that are not approved, oldest first. */
      open: z.enum(['true', 'false']).optional(),
      limit: wholeNumber(500).optional(),
    }),
    response: z.array(s.Restart),
  },
  'GET /api/restarts/{id}': {
    summary: 'A change of the set-up with its first piece, what to do next, and its record',
    tag: 'restarts',
    action: 'read',
    params: uuidParam,
    response: s.RestartDetail,
  },
  'POST /api/restarts/{id}/first-piece': {
    summary: 'State that the first piece is measured and ready for the engineer',
    tag: 'restarts',
    action: 'state first pieces',
    params: uuidParam,
    body: s.FirstPieceSubmission,
    response: s.RestartDetail,
    signed: true,
  },
  'POST /api/restarts/{id}/decision': {
    summary: 'Approve a first piece that another person stated, or refuse it with a reason',
    tag: 'restarts',
    action: 'approve first pieces',
    params: uuidParam,
    body: s.RestartDecision,
    response: s.RestartDetail,
    signed: true,
  },

  'GET /api/alarms': {
    summary:
      'Alarms, newest first; with after, those of a stream in order of arrival, and the header Link leads on',
    tag: 'alarms',
    action: 'read',
    query: z.object({
      open: z.enum(['true', 'false']).optional(),
      streamId: s.Id.optional(),
      after: cursor.optional(),
      limit: wholeNumber(1000).optional(),
    }),
    response: z.array(s.Alarm),
  },
  'GET /api/alarms/{id}': {
    summary: 'An alarm with its record',
    tag: 'alarms',
    action: 'read',
    params: numberParam,
    response: s.AlarmDetail,
  },
  'POST /api/alarms/{id}/entries': {
    summary: 'Acknowledge, decide, record cause, action and quarantine, close',
    tag: 'alarms',
    action: 'work on alarms',
    furtherAction: (body) => ((body as { readonly kind: string }).kind === 'closed' ? 'close alarms' : null),
    params: numberParam,
    body: s.AlarmEntrySubmission,
    response: s.AlarmDetail,
    signed: true,
    once: true,
  },

  'POST /api/alarms/{id}/shelving': {
    summary: 'Shelve an alarm for a stated reason and a bounded time',
    tag: 'alarms',
    action: 'shelve alarms',
    params: numberParam,
    body: s.ShelvingSubmission,
    response: s.AlarmDetail,
    signed: true,
    once: true,
  },
  'POST /api/alarms/{id}/unshelving': {
    summary: 'Take an alarm back from the shelf before its time',
    tag: 'alarms',
    action: 'shelve alarms',
    params: numberParam,
    body: s.UnshelvingSubmission,
    response: s.AlarmDetail,
    signed: true,
    once: true,
  },
  'GET /api/alarm-report': {
    summary: 'How many alarms came, how they were answered, and where they came from',
    tag: 'alarms',
    action: 'read',
    query: z.object({
      from: s.Time,
      to: s.Time,
      /** What counts as acknowledged in time; 10 where it is left out. */
      withinMinutes: wholeNumber(1440).optional(),
    }),
    response: s.AlarmReport,
  },

  'GET /api/routing': {
    summary: 'Who hears of which alarm',
    tag: 'routing',
    action: 'read',
    response: s.Routing,
  },
  'PUT /api/routing/safety': {
    summary: 'Name the characteristics whose alarms are about safety',
    tag: 'routing',
    action: 'route alarms',
    body: saved(s.SafetyCharacteristics),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/routing/shifts/{id}': {
    summary: 'Add or change a shift',
    tag: 'routing',
    action: 'route alarms',
    params: idParam,
    body: saved(s.Shift),
    response: ok,
    signed: true,
    once: true,
  },
  'PUT /api/routing/recipients/{id}': {
    summary: 'Add or change who is reached by mail, webhook or topic',
    tag: 'routing',
    action: 'route alarms',
    params: idParam,
    body: saved(s.Recipient),
    response: ok,
    signed: true,
    once: true,
  },
  'POST /api/routing/recipients/{id}/secret': {
    summary: 'Set a new secret that webhooks are signed with; it is shown this once',
    tag: 'routing',
    action: 'route alarms',
    params: idParam,
    body: z.strictObject({
      /** Left out: a new one is made. */
      secret: z.string().max(200).optional(),
    }),
    response: z.strictObject({ secret: z.string() }),
    signed: true,
  },
  'POST /api/routing/recipients/{id}/test': {
    summary: 'Send a message to try a recipient',
    tag: 'routing',
    action: 'route alarms',
    params: idParam,
    response: s.Delivery,
    signed: true,
    once: true,
  },
  'PUT /api/routing/rules/{id}': {
    summary: 'Add or change a rule of who hears of which alarm, and who next',
    tag: 'routing',
    action: 'route alarms',
    params: idParam,
    body: saved(s.RoutingRule),
    response: ok,
    signed: true,
    once: true,
  },

  'GET /api/deliveries': {
    summary: 'Messages that wait, have gone out, or were given up',
    tag: 'messages',
    action: 'read',
    query: z.object({ state: s.DeliveryState, limit: wholeNumber(1000).optional() }),
    response: s.Deliveries,
  },
  'POST /api/deliveries/{id}/again': {
    summary: 'Send a message again that was given up',
    tag: 'messages',
    action: 'look after messages',
    params: uuidParam,
    response: s.Delivery,
    signed: true,
    once: true,
  },
  'GET /api/refused-measurements': {
    summary: 'Measurements by MQTT that could not be taken in, with why',
    tag: 'messages',
    action: 'read',
    query: z.object({ all: z.enum(['true', 'false']).optional(), limit: wholeNumber(1000).optional() }),
    response: z.array(s.RefusedMeasurement),
  },
  'POST /api/refused-measurements/{id}/again': {
    summary: 'Take a refused measurement in, once what was missing is there',
    tag: 'messages',
    action: 'look after messages',
    params: numberParam,
    response: s.RefusedMeasurement,
    signed: true,
    once: true,
  },

  'GET /api/stations/{id}/work': {
    summary: 'What is due at a station, with what its streams make plausible',
    tag: 'workplaces',
    action: 'read',
    params: idParam,
    response: s.StationWork,
  },
  'GET /api/floor': {
    summary: 'Every stream at a glance, and the open alarms',
    tag: 'workplaces',
    action: 'read',
    response: s.Floor,
  },
  'GET /api/review': {
    summary: 'One stream and part model over a period',
    tag: 'workplaces',
    action: 'read',
    query: z.object({
      streamId: s.Id,
      modelId: s.Id,
      from: s.Time.optional(),
      to: s.Time.optional(),
      limit: wholeNumber(20_000).optional(),
    }),
    response: s.Review,
  },

  'GET /api/open-work': {
    summary: 'What is open now, as a shift hands it over',
    tag: 'handovers',
    action: 'read',
    response: s.OpenWork,
  },
  'GET /api/handovers': {
    summary: 'Handovers, newest first; with after, in order of arrival, and the header Link leads on',
    tag: 'handovers',
    action: 'read',
    query: z.object({
      state: s.HandoverState.optional(),
      after: cursor.optional(),
      limit: wholeNumber(500).optional(),
    }),
    response: z.array(s.HandoverSummary),
  },
  'GET /api/handovers/{id}': {
    summary: 'A handover with what was open, and what has come up since',
    tag: 'handovers',
    action: 'read',
    params: numberParam,
    response: s.Handover,
  },
  'POST /api/handovers': {
    summary: 'Hand over what is open: the signature of the supervisor who goes',
    tag: 'handovers',
    action: 'hand over a shift',
    body: s.HandoverSubmission,
    response: s.Handover,
    signed: true,
  },
  'POST /api/handovers/{id}/taking': {
    summary: 'Take a handover over: the signature of the supervisor who comes',
    tag: 'handovers',
    action: 'hand over a shift',
    params: numberParam,
    body: s.HandoverTakingSubmission,
    response: s.Handover,
    signed: true,
  },
  'POST /api/handovers/{id}/withdrawal': {
    summary: 'Withdraw a handover that nobody has taken over, with a reason',
    tag: 'handovers',
    action: 'hand over a shift',
    params: numberParam,
    body: s.HandoverWithdrawalSubmission,
    response: s.Handover,
    signed: true,
  },

  'GET /api/concessions': {
    summary: 'Concessions, newest first; with after, in order of arrival, and the header Link leads on',
    tag: 'concessions',
    action: 'read',
    query: z.object({
      alarmId: z.coerce.number().int().min(1).optional(),
      after: cursor.optional(),
      limit: wholeNumber(500).optional(),
    }),
    response: z.array(s.Concession),
  },
  'GET /api/concessions/{id}': {
    summary: 'A concession with what was released under it',
    tag: 'concessions',
    action: 'read',
    params: numberParam,
    response: s.Concession,
  },
  'POST /api/concessions': {
    summary: 'Record that a customer takes parts set apart; carries their consent as the second signature',
    tag: 'concessions',
    action: 'grant concessions',
    body: s.ConcessionSubmission,
    response: s.Concession,
    signed: true,
  },
  'POST /api/concessions/{id}/entries': {
    summary: 'Release parts under a concession, take a release back, or withdraw the concession',
    tag: 'concessions',
    action: 'grant concessions',
    params: numberParam,
    body: s.ConcessionEntrySubmission,
    response: s.Concession,
    signed: true,
  },

  'GET /api/calculations': {
    summary: 'The calculations of the statistics core that can be called',
    tag: 'calculations',
    action: 'read',
    response: z.array(s.Calculation),
  },

  'GET /api/imports/{id}': {
    summary: 'How far an import is',
    tag: 'imports',
    action: 'read',
    params: uuidParam,
    response: s.ImportProgress,
  },
  'POST /api/imports/{id}/shape': {
    summary: 'Read the file again in another way: delimiter, decimal mark, encoding, sheet',
    tag: 'imports',
    action: 'import samples',
    params: uuidParam,
    body: s.FileShape,
    response: s.ImportFile,
  },
  'POST /api/imports/{id}/preview': {
    summary: 'See what would be stored, with every bad row named',
    tag: 'imports',
    action: 'import samples',
    params: uuidParam,
    body: s.ImportMapping,
    response: s.ImportPreview,
  },
  'POST /api/imports/{id}/commit': {
    summary: 'Store all samples of the file, or none',
    tag: 'imports',
    action: 'import samples',
    params: uuidParam,
    body: s.ImportMapping,
    response: s.ImportProgress,
    signed: true,
    once: true,
  },
});

/**
 * Three doors carry something other than JSON and are registered by hand beside the contract:
 * POST /api/imports (the file itself; answers ImportFile), GET /api/export.csv, GET /api/alarm-report.csv, GET /api/stream (server-sent events).
 * So are GET /api/sign-in/provider/begin and …/callback, between which a browser is sent to the sign-in provider and
 * back; and POST /api/calculations/{name}, whose forms are drawn from the functions of src/ by the build.
 */
type Contract = typeof contract;
export type EndpointKey = keyof Contract;

type Out<T> = T extends z.ZodType ? z.output<T> : undefined;
type In<T> = T extends z.ZodType ? z.input<T> : undefined;
type Part<K extends EndpointKey, P extends keyof Endpoint> = Contract[K] extends {
  readonly [key in P]: infer T;
}
  ? T
  : undefined;

/** What a handler receives after validation. */
export interface Received<K extends EndpointKey> {
  readonly params: Out<Part<K, 'params'>>;
  readonly query: Out<Part<K, 'query'>>;
  readonly body: Out<Part<K, 'body'>>;
}

/** What a client sends: only the parts that the endpoint has. */
type Sendable<K extends EndpointKey> = {
  params: In<Part<K, 'params'>>;
  query: In<Part<K, 'query'>>;
  body: In<Part<K, 'body'>>;
};
export type Sent<K extends EndpointKey> = {
  [P in keyof Sendable<K> as Sendable<K>[P] extends undefined ? never : P]: Sendable<K>[P];
};

export type Answer<K extends EndpointKey> = Out<Part<K, 'response'>>;
