/**
 * Every payload of the API, once: the server validates with these schemas, the OpenAPI document is drawn from
 * them, and the page takes its types from them.
 */
import { z } from '@hono/zod-openapi';
import { runRuleNames } from '../src/run-rules/run-rule.ts';

const finite = z.number().min(-1e12).max(1e12);
/** What was calculated from such numbers may lie beyond them: the range of two is up to twice as large. */
const calculated = z.number();
const text = z.string().trim().max(2000);
const requiredText = text.min(1, 'must not be empty');

/** For a schema with a name: `nullable()` says of one that it is both that object and perhaps null, which null is not. */
const orNull = <T extends z.ZodType>(schema: T) => z.union([schema, z.null()]);

/** Identifier of a part of the plant: short, readable, chosen by people. */
export const Id = z
  .string()
  .regex(
    /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/,
    'must be letters, digits, dot, dash or underscore, at most 64, the first a letter or a digit',
  )
  .openapi({ example: 'R1' });

const FIRST_TIME = Date.parse('0000-01-01T00:00:00Z');
const LAST_TIME = Date.parse('9999-12-31T23:59:59.999Z');

/** Times travel as ISO 8601 with an offset and are stored to the millisecond. */
export const Time = z.iso
  .datetime({ offset: true })
  // A year of five digits, or below 0, could not be sent back in the same form.
  .refine((text) => !(Date.parse(text) < FIRST_TIME || Date.parse(text) > LAST_TIME), {
    message: 'must lie in the years 0000 to 9999 of UTC',
  })
  .openapi({ example: '2025-09-01T06:30:00+02:00' });

export const Role = z.enum(['tech', 'engineer', 'supervisor', 'quality-manager', 'administrator']);

// ---- A sign-in provider ----------------------------------------------------------------------------------

/** Somebody who has an account at the sign-in provider, or is announced by e-mail address. */
export const Identity = z
  .strictObject({
    id: z.uuid(),
    /** As the provider has verified it, or as it was announced. */
    email: z.string().nullable(),
    name: z.string().nullable(),
    /** null: waits for an administrator to say who this is. */
    personId: Id.nullable(),
    boundBy: Id.nullable(),
    boundAt: Time.nullable(),
    /** null: has not been here yet. */
    firstSeenAt: Time.nullable(),
  })
  .openapi('Identity');

// ---- Keys of programs ------------------------------------------------------------------------------------

/** What a program may be allowed. Whatever takes a person's judgement is not among it. */
export const KeyScope = z.enum([
  'read',
  'enter samples',
  'import samples',
  'record events',
  'declare missed samples',
  'read metrics',
]);

/** Lines (with all their streams) and streams. At least one of them. */
export const KeyReach = z
  .strictObject({ lines: z.array(Id).max(100), streams: z.array(Id).max(1000) })
  .refine(({ lines, streams }) => lines.length + streams.length > 0, {
    path: ['lines'],
    message: 'name at least one line or stream',
  })
  .openapi('KeyReach');

export const NewApiKey = z
  .strictObject({
    /** Short name; with "key." before it, it stands in the records where the id of a person would. */
    id: Id.max(50),
    name: requiredText,
    scopes: z.array(KeyScope).min(1).max(KeyScope.options.length),
    /** null: the whole plant. */
    reach: KeyReach.nullable(),
    /** null: until it is revoked. */
    expiresAt: Time.nullable(),
  })
  .openapi('NewApiKey');

export const ApiKey = z
  .strictObject({
    id: Id,
    name: z.string(),
    scopes: z.array(KeyScope),
    reach: KeyReach.nullable(),
    madeBy: Id,
    madeAt: Time,
    expiresAt: Time.nullable(),
    revokedAt: Time.nullable(),
    revokedBy: Id.nullable(),
    /** The day in the plant's local time. */
    lastUsedOn: z.iso.date().nullable(),
  })
  .openapi('ApiKey');

export const MadeApiKey = z
  .strictObject({
    key: ApiKey,
    /** Shown this once. */
    secret: z.string(),
  })
  .openapi('MadeApiKey');

// ---- The plant -------------------------------------------------------------------------------------------

export const Person = z.strictObject({ id: Id, name: requiredText, role: Role }).openapi('Person');

const TimeOfDay = z
  .string()
  .regex(/^([01]\d|2[0-3]):[0-5]\d$|^24:00$/, 'write hh:mm')
  .openapi({ example: '06:00' });

export const RunningHours = z
  .strictObject({
    start: TimeOfDay,
    end: TimeOfDay,
    /** ISO weekdays, 1 = Monday. */
    weekdays: z.array(z.number().int().min(1).max(7)).min(1).max(7),
  })
  .refine((hours) => hours.start < hours.end, { path: ['end'], message: 'must be later than start' })
  .openapi('RunningHours');

export const Plant = z
  .strictObject({
    name: requiredText,
    /** Local time is a fixed distance from UTC, so that a shift never has 7 or 9 hours. */
    utcOffsetMinutes: z.number().int().min(-840).max(840),
  })
  .openapi('Plant');

export const Line = z
  .strictObject({
    id: Id,
    name: requiredText,
    partsPerHour: z.number().positive().max(1e6),
    runningHours: RunningHours,
  })
  .openapi('Line');

export const Station = z.strictObject({ id: Id, lineId: Id, name: requiredText }).openapi('Station');

export const PartModel = z.strictObject({ id: Id, name: requiredText }).openapi('PartModel');

export const Unit = z.enum(['mm', 'in', 'µm', '°', 'kN', 'g', 's', '1']);

export const Characteristic = z
  .strictObject({
    id: Id,
    name: requiredText,
    /** variable: measured values; count: nonconforming parts among those inspected. */
    kind: z.enum(['variable', 'count']),
    unit: Unit,
    /** Decimals that the gauge resolves and the page shows. */
    decimals: z.number().int().min(0).max(6),
    gauge: text,
    /** A value that the characteristic cannot pass by its nature, such as 0 for a runout. */
    lowerNaturalBound: finite.nullable(),
    upperNaturalBound: finite.nullable(),
  })
  .openapi('Characteristic');

/** What the drawing asks of one part model. Never a control limit. */
export const Specification = z
  .strictObject({
    characteristicId: Id,
    modelId: Id,
    nominal: finite.nullable(),
    lowerSpecificationLimit: finite.nullable(),
    upperSpecificationLimit: finite.nullable(),
  })
  .refine(
    (s) =>
      s.lowerSpecificationLimit === null ||
      s.upperSpecificationLimit === null ||
      s.lowerSpecificationLimit < s.upperSpecificationLimit,
    { path: ['upperSpecificationLimit'], message: 'must be greater than lowerSpecificationLimit' },
  )
  .refine(
    (s) =>
      s.nominal === null ||
      ((s.lowerSpecificationLimit === null || s.nominal >= s.lowerSpecificationLimit) &&
        (s.upperSpecificationLimit === null || s.nominal <= s.upperSpecificationLimit)),
    { path: ['nominal'], message: 'must lie between the specification limits' },
  )
  .openapi('Specification');

export const Stream = z
  .strictObject({
    id: Id,
    characteristicId: Id,
    stationId: Id,
    name: requiredText,
    kind: z.enum(['die lane', 'roll set', 'weld head', 'assembly cell', 'cavity', 'other']),
  })
  .openapi('Stream');

export const ReactionPlan = z
  .strictObject({
    /** What to do, in order. A step only ever says call, stop by the normal control, segregate, measure. */
    steps: z.array(requiredText).min(1).max(20),
    cautions: z.array(requiredText).max(20),
  })
  .openapi('ReactionPlan');

const RunRule = z.enum(runRuleNames);

export const SamplingPlan = z
  .strictObject({
    streamId: Id,
    /** Readings of one sample; for a count, parts inspected. */
    sampleSize: z.number().int().min(1).max(100_000),
    /** Local time of the first sample of a day; further ones follow while the line runs. */
    firstSampleAt: TimeOfDay,
    intervalMinutes: z.number().int().min(1).max(10_080),
    /** none: stored and shown, not yet charted. */
    chart: z.enum(['mean-range', 'mean-standard-deviation', 'individuals-moving-range', 'none']),
    locationRules: z.array(RunRule).max(8),
    spreadRules: z.array(RunRule).max(8),
    /** Where the limits for means come from: readings inside a subgroup, or the moving range of the means. */
    meanLimitsFrom: z.enum(['within-subgroup', 'moving-range-of-means']),
    /** Why the plan departs from the usual; shown on the screens. */
    remark: text,
    /** false: signals are drawn but call nobody. `remark` then says why. */
    raisesAlarms: z.boolean(),
    reactionPlan: ReactionPlan,
    /** true: after an adjustment, too, the line waits for an approved first piece; false where left out. */
    firstPieceAfterAdjustment: z.boolean().optional(),
  })
  .refine((p) => p.raisesAlarms || p.remark.length > 0, {
    path: ['remark'],
    message: 'must say why signals raise no alarm',
  })
  .refine((p) => p.chart === 'none' || p.chart === 'individuals-moving-range' || p.sampleSize >= 2, {
    path: ['sampleSize'],
    message: 'must be 2 or more for a chart of subgroups',
  })
  .refine((p) => p.chart !== 'individuals-moving-range' || p.sampleSize === 1, {
    path: ['sampleSize'],
    message: 'must be 1 for a chart of individuals',
  })
  .openapi('SamplingPlan');

export const PlantModel = z
  .strictObject({
    plant: Plant,
    people: z.array(Person),
    lines: z.array(Line),
    stations: z.array(Station),
    models: z.array(PartModel),
    characteristics: z.array(Characteristic),
    specifications: z.array(Specification),
    streams: z.array(Stream),
    plans: z.array(SamplingPlan),
  })
  .openapi('PlantModel');

/** Kinds of plant record that Setup writes, each with its schema. */
const plantRecords = {
  people: Person,
  lines: Line,
  stations: Station,
  models: PartModel,
  characteristics: Characteristic,
  specifications: Specification,
  streams: Stream,
  plans: SamplingPlan,
} as const;
export type PlantRecordKind = keyof typeof plantRecords;

// ---- Signing in ------------------------------------------------------------------------------------------

/** A password or PIN as it is typed. Checked, never stored, never logged. */
const secret = z.string().min(1, 'must not be empty').max(200);

/** With a password from anywhere, with a PIN at a registered station. */
export const SignInSubmission = z
  .strictObject({
    personId: Id,
    password: secret.optional(),
    pin: secret.optional(),
    /** Of the authenticator, or a recovery code; beside a password where a second factor is set up. */
    code: secret.optional(),
  })
  .refine((s) => (s.password === undefined) !== (s.pin === undefined), {
    path: ['password'],
    message: 'give either password or pin, not both and not neither',
  })
  .openapi('SignInSubmission');

/** What a person chooses: a password of at least 12 characters, a PIN of 4 to 8 digits, or both. */
export const Secrets = z
  .strictObject({ password: secret.optional(), pin: secret.optional() })
  .openapi('Secrets');

/** Who is here, as the server sees this browser. */
export const Session = z
  .strictObject({
    /** off: nobody has to prove who they are; a demo, or a server that only its own machine reaches. */
    signIn: z.enum(['on', 'off']),
    person: Person.nullable(),
    /** Set where this browser is registered as a station's. */
    stationId: Id.nullable(),
    /** Then the session ends, unless it is used before. */
    endsAt: Time.nullable(),
    /** What may be done here and now. */
    may: z.array(z.string()),
    /** true: a second factor has to be set up before anything else. */
    limited: z.boolean(),
  })
  .openapi('Session');

/** What may be done, by whom, and whether by whoever asks. */
export const Permissions = z
  .array(
    z.strictObject({
      action: z.string(),
      may: z.boolean(),
      roles: z.array(Role),
      /** Where it is done, as "PUT /api/lines/{id}". */
      endpoints: z.array(z.string()),
    }),
  )
  .openapi('Permissions');

/** A session of the one who asks. */
export const OwnSession = z
  .strictObject({
    id: z.string(),
    beganAt: Time,
    lastUsedAt: Time,
    endsAt: Time,
    way: z.enum(['password', 'password and code', 'password and recovery code', 'pin', 'link', 'provider']),
    stationId: Id.nullable(),
    /** "Chromium on Linux"; null where the browser does not say. */
    device: z.string().nullable(),
    /** The one that asks. */
    here: z.boolean(),
  })
  .openapi('OwnSession');

/** An authenticator beside the password. */
export const SecondFactor = z
  .strictObject({ on: z.boolean(), recoveryCodesLeft: z.int() })
  .openapi('SecondFactor');

/** A new authenticator: its secret, the same as the address that it reads from a picture. Shown once. */
export const NewSecondFactor = z
  .strictObject({
    secret: z.string(),
    address: z.string(),
    /** Each works once in place of a code of the authenticator. */
    recoveryCodes: z.array(z.string()),
  })
  .openapi('NewSecondFactor');

/** Roles for which a password alone is not enough, away from the registered stations. */
export const SecondFactorRoles = z.strictObject({ roles: z.array(Role).max(5) }).openapi('SecondFactorRoles');

/** A one-time link or code; it is shown in this answer only. */
export const OneTimeSecret = z.strictObject({ secret: z.string(), expiresAt: Time }).openapi('OneTimeSecret');

/** What a one-time link is for. */
export const OneTimeLink = z
  .strictObject({
    purpose: z.enum(['first administrator', 'choose secrets']),
    person: Person.nullable(),
    /** true: a code of the authenticator is needed as well. */
    needsCode: z.boolean(),
  })
  .openapi('OneTimeLink');

export const LinkToken = z.string().min(1).max(100);

/** How a person can sign in. */
export const Account = z
  .strictObject({
    personId: Id,
    hasPassword: z.boolean(),
    hasPin: z.boolean(),
    hasSecondFactor: z.boolean(),
  })
  .openapi('Account');

/** A browser that stands at a station for good. */
export const RegisteredStation = z
  .strictObject({ id: z.uuid(), stationId: Id, registeredBy: Id, registeredAt: Time })
  .openapi('RegisteredStation');

/** A second person signs with the one who acts, and proves it here. */
export const SecondSignature = z
  .strictObject({
    personId: Id,
    /** Their PIN (at a registered station) or password; left out where the server runs without sign-in. */
    secret: secret.optional(),
  })
  .openapi('SecondSignature');

// ---- Samples ---------------------------------------------------------------------------------------------

const QuestionKind = z.enum([
  'digit-swap',
  'lost-decimal',
  'inch-for-millimetre',
  'other-model',
  'far-from-expected',
  'outside-natural-bound',
]);

/** Something about a value that a person should look at. It asks; it never blocks. */
export const Question = z
  .strictObject({
    /** 0-based place of the reading in the sample. */
    position: z.number().int().min(0),
    kind: QuestionKind,
    /** What was probably meant, where that can be said; in the unit of the characteristic. */
    suggestion: finite.nullable(),
    /** The part model whose nominal fits, for 'other-model'. */
    modelId: Id.nullable(),
    sentence: z.string(),
  })
  .openapi('Question');

/** What a value of another kind should have looked like; one that was left out is missing. */
const example = (sentence: string) => ({
  error: ({ code, input }: { readonly code?: string | undefined; readonly input?: unknown }) =>
    code === 'invalid_type' && input !== undefined ? sentence : undefined,
});

export const Reading = z
  .strictObject(
    {
      /** null: this piece could not be measured. */
      value: finite.nullable(),
      /** The value typed first, where the person changed it after a question. Kept for ever. */
      firstValue: finite.optional(),
      /** The question that was asked at the station, and what the person did with it. */
      asked: z.strictObject({ kind: QuestionKind, decision: z.enum(['kept', 'changed']) }).optional(),
    },
    example('must be an object, such as {"value": 0.21}'),
  )
  .openapi('Reading');

export const CountedParts = z
  .strictObject(
    {
      inspected: z.number().int().min(1).max(1e6),
      nonconforming: z.number().int().min(0).max(1e6),
    },
    example('must be an object, such as {"inspected": 310, "nonconforming": 1}'),
  )
  .refine((c) => c.nonconforming <= c.inspected, {
    path: ['nonconforming'],
    message: 'must not exceed inspected',
  })
  .openapi('CountedParts');

/** Most readings one sample may have. */
export const MAX_READINGS = 100;

export const SampleSubmission = z
  .strictObject({
    /** Chosen by the sender, so that sending again stores nothing twice. */
    id: z.uuid(),
    streamId: Id,
    modelId: Id,
    takenAt: Time,
    unit: Unit,
    readings: z.array(Reading).min(1).max(MAX_READINGS).optional(),
    count: CountedParts.optional(),
    lot: text.max(64).nullable().optional(),
    note: text.optional(),
  })
  .refine((s) => (s.readings === undefined) !== (s.count === undefined), {
    path: ['readings'],
    message: 'give either readings or count, not both and not neither',
  })
  .openapi('SampleSubmission');

export const SampleCorrection = z
  .strictObject({
    /** Chosen by the sender, like the id of a sample. */
    id: z.uuid(),
    /** The revision that the person saw and corrects. */
    revision: z.number().int().min(1),
    readings: z.array(Reading).min(1).max(MAX_READINGS).optional(),
    count: CountedParts.optional(),
    reason: requiredText,
  })
  .refine((s) => (s.readings === undefined) !== (s.count === undefined), {
    path: ['readings'],
    message: 'give either readings or count, not both and not neither',
  })
  .openapi('SampleCorrection');

export const Signal = z
  .strictObject({
    id: z.number().int(),
    sampleId: z.uuid(),
    chart: z.enum(['location', 'spread']),
    rule: RunRule,
    side: z.enum(['above', 'below', 'both']),
    /** Samples that the signal stands on, oldest first. */
    points: z.array(z.uuid()),
    sentence: z.string(),
    /** Set when a correction of a sample took the ground from under the signal. */
    withdrawn: z.boolean(),
  })
  .openapi('Signal');

export const PointLimits = z
  .strictObject({
    centerLine: calculated,
    lowerControlLimit: calculated.nullable(),
    upperControlLimit: calculated.nullable(),
    standardDeviation: calculated,
  })
  .openapi('PointLimits');

export const Verdict = z
  .strictObject({
    level: z.enum(['fine', 'measure-again', 'call']),
    /** false: no control chart looked at the sample, for want of a chart or of limits. */
    judged: z.boolean(),
    /** One plain sentence: what to do next and why. */
    sentence: z.string(),
    steps: z.array(z.string()),
    cautions: z.array(z.string()),
  })
  .openapi('Verdict');

/** What the person saw when the sample was accepted. The same sample sent again gets the same answer. */
export const SampleAnswer = z
  .strictObject({
    sampleId: z.uuid(),
    revision: z.number().int().min(1),
    storedAt: Time,
    verdict: Verdict,
    location: z.strictObject({ value: finite.nullable(), limits: PointLimits.nullable() }),
    spread: z.strictObject({ value: calculated.nullable(), limits: PointLimits.nullable() }),
    /** Values outside the specification, as positions. About the product, not the process. */
    outsideSpecification: z.array(z.number().int()),
    questions: z.array(Question),
    signals: z.array(Signal),
    alarmId: z.number().int().nullable(),
  })
  .openapi('SampleAnswer');

export const Sample = z
  .strictObject({
    id: z.uuid(),
    streamId: Id,
    modelId: Id,
    takenAt: Time,
    storedAt: Time,
    personId: Id,
    door: z.enum(['page', 'api', 'import', 'demo', 'mqtt']),
    /** The revision shown; 1 is the sample as first accepted. */
    revision: z.number().int().min(1),
    readings: z.array(Reading).nullable(),
    count: orNull(CountedParts),
    mean: finite.nullable(),
    range: calculated.nullable(),
    standardDeviation: calculated.nullable(),
    lot: z.string().nullable(),
    note: z.string(),
    limitsVersion: z.number().int().nullable(),
    questions: z.array(Question),
  })
  .openapi('Sample');

export const SampleRevision = z
  .strictObject({
    revision: z.number().int().min(1),
    readings: z.array(Reading).nullable(),
    count: orNull(CountedParts),
    reason: z.string().nullable(),
    personId: Id,
    at: Time,
  })
  .openapi('SampleRevision');

export const SampleHistory = z
  .strictObject({ sample: Sample, revisions: z.array(SampleRevision), signals: z.array(Signal) })
  .openapi('SampleHistory');

export const MissedSampleSubmission = z
  .strictObject({ streamId: Id, dueAt: Time, reason: requiredText })
  .openapi('MissedSampleSubmission');
export const MissedSample = z
  .strictObject({ streamId: Id, dueAt: Time, reason: z.string(), personId: Id, at: Time })
  .openapi('MissedSample');

// ---- Limits ----------------------------------------------------------------------------------------------

export const LimitsRequest = z
  .strictObject({
    streamId: Id,
    modelId: Id,
    status: z.enum(['trial', 'approved']),
    /** baseline: estimated from the samples of a period. given: a mean and a standard deviation. */
    source: z.discriminatedUnion('kind', [
      z.strictObject({
        kind: z.literal('baseline'),
        from: Time,
        to: Time,
        method: z.enum(['range', 'standard-deviation', 'pooled', 'moving-range']),
      }),
      z.strictObject({
        kind: z.literal('given'),
        mean: finite,
        withinSubgroupStandardDeviation: z.number().positive().max(1e12),
      }),
    ]),
    effectiveFrom: Time,
    reason: requiredText,
    /** Each signal that the baseline holds was looked into, and the reason says what it was; false where left out. */
    signalsExplained: z.boolean().optional(),
    secondSignature: SecondSignature.optional(),
  })
  .openapi('LimitsRequest');

export const LimitsVersion = z
  .strictObject({
    streamId: Id,
    modelId: Id,
    version: z.number().int().min(1),
    status: z.enum(['trial', 'approved']),
    mean: finite,
    withinSubgroupStandardDeviation: finite,
    meanStandardDeviation: finite.nullable(),
    method: z.string(),
    baselineFrom: Time.nullable(),
    baselineTo: Time.nullable(),
    subgroupsUsed: z.number().int(),
    readingsUsed: z.number().int(),
    effectiveFrom: Time,
    reason: z.string(),
    signalsExplained: z.boolean(),
    personId: Id,
    /** Who signed with them; null in records from before that was asked for. */
    secondPersonId: Id.nullable(),
    at: Time,
  })
  .openapi('LimitsVersion');

// ---- Events ----------------------------------------------------------------------------------------------

export const EventKind = z.enum([
  'changeover',
  'tool change',
  'regrind',
  'coil',
  'adjustment',
  'stoppage',
  'gauge check',
  'note',
]);

export const EventSubmission = z
  .strictObject({
    id: z.uuid(),
    lineId: Id,
    stationId: Id.nullable(),
    streamId: Id.nullable(),
    kind: EventKind,
    at: Time,
    /** End of a stoppage; null while it lasts, and for every other kind. */
    until: Time.nullable(),
    /** The model that runs from now on, for a changeover. */
    modelId: Id.nullable(),
    /** The coil lot from now on, for a coil. */
    lot: text.max(64).nullable(),
    text: text,
  })
  .refine((e) => e.kind !== 'changeover' || e.modelId !== null, {
    path: ['modelId'],
    message: 'must name the model that runs from now on',
  })
  .refine((e) => e.kind !== 'coil' || (e.lot !== null && e.lot.length > 0), {
    path: ['lot'],
    message: 'must name the coil lot',
  })
  .openapi('EventSubmission');

export const PlantEvent = z
  .strictObject({
    id: z.uuid(),
    lineId: Id,
    stationId: Id.nullable(),
    streamId: Id.nullable(),
    kind: EventKind,
    at: Time,
    until: Time.nullable(),
    modelId: Id.nullable(),
    lot: z.string().nullable(),
    text: z.string(),
    personId: Id,
    recordedAt: Time,
  })
  .openapi('PlantEvent');

// ---- Alarms ----------------------------------------------------------------------------------------------

export const AlarmState = z.enum(['unacknowledged', 'acknowledged', 'returned-to-normal', 'closed']);

/** What is suspect: parts made since the last sample verified good. */
export const Containment = z
  .strictObject({
    from: Time,
    /** null: still running. */
    to: Time.nullable(),
    lastGoodSampleId: z.uuid().nullable(),
    runningHours: finite,
    suspectParts: z.number().int().min(0),
    lots: z.array(z.string()),
    sentence: z.string(),
  })
  .openapi('Containment');

const AlarmEntryKind = z.enum([
  'raised',
  'acknowledged',
  'decision',
  'cause',
  'action',
  'quarantined',
  'returned-to-normal',
  'raised-again',
  'signal-withdrawn',
  'shelved',
  'unshelved',
  'closed',
]);

/**
 * How much depends on it, the worst first. safety: the plant names the characteristic as safety-relevant. product:
 * parts are outside the drawing. process: a control chart signals, and no part is surely outside.
 */
export const Severity = z.enum(['safety', 'product', 'process']);

export const AlarmDecision = z.enum(['keep-running', 'adjust', 'stop-and-quarantine']);

/** One line of an alarm's record. Entries are added, never changed. */
export const AlarmEntry = z
  .strictObject({
    kind: AlarmEntryKind,
    at: Time,
    /** null: the software. */
    personId: Id.nullable(),
    /** Who signed with them, where two signatures are asked for. */
    secondPersonId: Id.nullable(),
    text: z.string(),
    decision: AlarmDecision.nullable(),
    /** Parts physically found and fenced off, for 'quarantined'. */
    countedParts: z.number().int().nullable(),
    /** The containment as it stood, for 'decision', 'quarantined' and 'closed'. */
    containment: orNull(Containment),
  })
  .openapi('AlarmEntry');

export const Alarm = z
  .strictObject({
    id: z.number().int(),
    streamId: Id,
    modelId: Id,
    state: AlarmState,
    /** The process condition is still there. */
    active: z.boolean(),
    raisedAt: Time,
    acknowledgedAt: Time.nullable(),
    returnedToNormalAt: Time.nullable(),
    closedAt: Time.nullable(),
    decision: AlarmDecision.nullable(),
    cause: z.string().nullable(),
    /** What raised it: the first signal's sentence, or what lies outside the drawing. */
    sentence: z.string(),
    signalCount: z.number().int(),
    /** Samples of this alarm with pieces outside the drawing, as they read now. */
    outsideSamples: z.number().int(),
    /** The newest sample of its stream and model: are the parts good now? */
    newest: z
      .strictObject({
        sampleId: z.uuid(),
        takenAt: Time,
        /** null: this piece could not be measured. Empty for a count. */
        values: z.array(finite.nullable()),
        /** Positions of the values outside the specification. */
        outsideSpecification: z.array(z.number().int()),
      })
      .nullable(),
    /** The decision shown was taken before the alarm was raised again. */
    decidedBeforeRaisedAgain: z.boolean(),
    /** Closed by a person while the last sample still stood on a signal or outside the drawing. */
    closedWhileActive: z.boolean(),
    severity: Severity,
    /** Taken off the list of what calls, by a person and for a time; null: it is not. */
    shelved: z.strictObject({ personId: Id, reason: z.string(), since: Time, until: Time }).nullable(),
    /** There are rules of who hears of alarms, and none of them matches this one: only the board shows it. */
    nobodyTold: z.boolean(),
    containment: Containment,
  })
  .openapi('Alarm');

export const AlarmDetail = z
  .strictObject({
    alarm: Alarm,
    entries: z.array(AlarmEntry),
    signals: z.array(Signal),
    reactionPlan: ReactionPlan,
  })
  .openapi('AlarmDetail');

/** What a person adds to an alarm. Closing asks that it was acknowledged and that a cause is recorded. */
export const AlarmEntrySubmission = z
  .discriminatedUnion('kind', [
    z.strictObject({ id: z.uuid(), kind: z.literal('acknowledged') }),
    z.strictObject({
      id: z.uuid(),
      kind: z.literal('decision'),
      decision: AlarmDecision,
      text: requiredText,
    }),
    z.strictObject({ id: z.uuid(), kind: z.literal('cause'), text: requiredText }),
    z.strictObject({ id: z.uuid(), kind: z.literal('action'), text: requiredText }),
    z.strictObject({
      id: z.uuid(),
      kind: z.literal('quarantined'),
      countedParts: z.number().int().min(0).max(1e9),
      text: requiredText,
    }),
    z.strictObject({
      id: z.uuid(),
      kind: z.literal('closed'),
      text: requiredText,
      /** Where parts were set apart: quality releases them. */
      secondSignature: SecondSignature.optional(),
    }),
  ])
  .openapi('AlarmEntrySubmission');

// ---- First piece after a change of the set-up ------------------------------------------------------------

/** Events after which the parts are made differently, so that a first piece is asked for. */
export const RestartKind = z.enum(['changeover', 'tool change', 'regrind', 'adjustment']);

/** waiting: nobody has stated the first piece; stated: it waits for the engineer; overtaken: changed again before. */
const RestartState = z.enum(['waiting', 'stated', 'refused', 'approved', 'overtaken']);

/** What must be measured of a stream at the first piece, by its sampling plan when the change began. */
export const PlannedFirstPiece = z
  .strictObject({
    streamId: Id,
    pieces: z.number().int().min(1),
    /** false: by the plan its signals call nobody, so they are shown and decide nothing. */
    signalsCall: z.boolean(),
  })
  .openapi('PlannedFirstPiece');

/** A change of the set-up, not approved until a technician has stated its first piece and an engineer approved it. */
export const Restart = z
  .strictObject({
    /** That of the event that changed the set-up. */
    id: z.uuid(),
    lineId: Id,
    /** null: the whole line. */
    stationId: Id.nullable(),
    kind: RestartKind,
    at: Time,
    /** null: nobody had said which model runs. */
    modelId: Id.nullable(),
    plan: z.array(PlannedFirstPiece),
    personId: Id,
    recordedAt: Time,
    state: RestartState,
    /** Who brought it into this state, and when. */
    stateBy: Id,
    stateAt: Time,
    /** Earlier changes that it overtook before they were approved. */
    overtakes: z.array(z.uuid()),
    /** What was made without an approved first piece, until it was approved, overtaken, or until now. */
    unapproved: z.strictObject({
      since: Time,
      runningHours: finite,
      /** By the rate of the line: nobody has counted them. */
      parts: z.number().int().min(0),
    }),
  })
  .openapi('Restart');

/** What one stream of the plan shows: its newest sample since the set-up is as it is. */
export const FirstPieceResult = z
  .strictObject({
    streamId: Id,
    pieces: z.number().int(),
    state: z.enum(['not-measured', 'too-few', 'in-doubt', 'outside', 'signal', 'good']),
    /** The same in words. */
    sentence: z.string(),
    /** Samples from then on count: the change, the last refusal, or the last adjustment. */
    measuredSince: Time,
    sampleId: z.uuid().nullable(),
    revision: z.number().int().nullable(),
    takenAt: Time.nullable(),
    /** null: this piece could not be measured. Empty for a count. */
    values: z.array(finite.nullable()),
    count: orNull(CountedParts),
    /** Positions of the values outside the specification. */
    outsideSpecification: z.array(z.number().int()),
    signals: z.array(z.string()),
    hasDrawingLimits: z.boolean(),
    hasControlLimits: z.boolean(),
    /** Earlier samples since then that stood outside the drawing. */
    earlierOutside: z.number().int(),
  })
  .openapi('FirstPieceResult');

export const RestartEntryKind = z.enum(['stated', 'approved', 'refused', 'overtaken']);

/** One line of the record of a restart. Entries are added, never changed. */
const RestartEntry = z
  .strictObject({
    kind: RestartEntryKind,
    at: Time,
    personId: Id,
    text: z.string(),
    /** What was measured by then; null where it was overtaken. */
    results: z.array(FirstPieceResult).nullable(),
  })
  .openapi('RestartEntry');

/** What went wrong since the change and the newest samples do not show any more: people look at it. */
export const GoneWrong = z
  .strictObject({
    streamId: Id,
    /** The open alarm that it is about; null: samples outside the drawing. */
    alarmId: z.number().int().nullable(),
    sentence: z.string(),
  })
  .openapi('GoneWrong');

export const RestartDetail = z
  .strictObject({
    restart: Restart,
    /** As of now; as approved, where it is. */
    results: z.array(FirstPieceResult),
    /** Of the streams of the plan; it decides nothing by itself. */
    goneWrong: z.array(GoneWrong),
    /** One plain sentence: what to do next. */
    next: z.string(),
    entries: z.array(RestartEntry),
    /** Streams of which a sample that the approval stands on was corrected afterwards. */
    correctedSince: z.array(Id),
  })
  .openapi('RestartDetail');

/** The technician states that the first piece is measured and ready for the engineer. */
export const FirstPieceSubmission = z
  .strictObject({ id: z.uuid(), text: text.optional() })
  .openapi('FirstPieceSubmission');

/** The engineer decides. An approval that was a mistake is taken back by refusing with a reason. */
export const RestartDecision = z
  .discriminatedUnion('decision', [
    z.strictObject({ id: z.uuid(), decision: z.literal('approved'), text: text.optional() }),
    z.strictObject({ id: z.uuid(), decision: z.literal('refused'), text: requiredText }),
  ])
  .openapi('RestartDecision');

// ---- Who hears of an alarm, and what leaves ---------------------------------------------------------------

/** Hours of one shift, in the plant's local time. An end that is not later than the start is on the next day. */
export const Shift = z
  .strictObject({
    id: Id,
    name: requiredText,
    start: TimeOfDay,
    end: TimeOfDay,
    /** ISO weekdays on which it begins, 1 = Monday. */
    weekdays: z.array(z.number().int().min(1).max(7)).min(1).max(7),
  })
  .openapi('Shift');

/** Levels of an MQTT topic, without wildcards. */
const Topic = z
  .string()
  .regex(
    /^[A-Za-z0-9._-]{1,64}(\/[A-Za-z0-9._-]{1,64}){0,7}$/,
    'write one to eight levels of letters, digits, dot, dash, underscore, with / between them',
  );

export const Recipient = z
  .strictObject({
    id: Id,
    name: requiredText,
    /** Whose alarms these are, for the flood measure; null: nobody's in particular. */
    personId: Id.nullable(),
    to: z.discriminatedUnion('by', [
      z.strictObject({ by: z.literal('mail'), address: z.email().max(254) }),
      z.strictObject({
        by: z.literal('webhook'),
        url: z
          .url({ protocol: /^https?$/, message: 'write an address that begins with https:// or http://' })
          .max(2000),
      }),
      z.strictObject({ by: z.literal('topic'), topic: Topic }),
    ]),
  })
  .openapi('Recipient');

export const RoutingRule = z
  .strictObject({
    id: Id,
    name: requiredText,
    active: z.boolean(),
    /** Empty: every line. */
    lineIds: z.array(Id).max(1000),
    /** Empty: at any time. */
    shiftIds: z.array(Id).max(50),
    severities: z.array(Severity).min(1).max(3),
    /** Further alarms of a line within so many minutes of the first belong to its incident, unless all are acknowledged. */
    groupMinutes: z.number().int().min(0).max(1440),
    /** Who hears of it, and who next while nobody acknowledges. Minutes count from the first message. */
    steps: z
      .array(
        z.strictObject({
          afterMinutes: z.number().int().min(0).max(10_080),
          recipientIds: z.array(Id).min(1).max(50),
        }),
      )
      .min(1)
      .max(10),
  })
  .refine((rule) => rule.steps[0]?.afterMinutes === 0, {
    path: ['steps', 0, 'afterMinutes'],
    message: 'must be 0: the first step is told at once',
  })
  .refine(
    ({ steps }) =>
      steps.every((step, index) => index === 0 || step.afterMinutes > steps[index - 1]!.afterMinutes),
    { path: ['steps'], message: 'must come later from step to step' },
  )
  .openapi('RoutingRule');

/** What the plant says is about safety. */
export const SafetyCharacteristics = z
  .strictObject({ characteristicIds: z.array(Id).max(1000) })
  .openapi('SafetyCharacteristics');

export const Routing = z
  .strictObject({
    /** Characteristics whose alarms are about safety, before anything else. */
    safetyCharacteristicIds: z.array(Id),
    shifts: z.array(Shift),
    recipients: z.array(Recipient),
    rules: z.array(RoutingRule),
    /** Recipients of webhooks that have a secret, which is never shown again. */
    signedRecipientIds: z.array(Id),
    /** Which ways out the server was started with. */
    doors: z.strictObject({ mail: z.boolean(), mqtt: z.boolean() }),
    /** Alarms that no rule tells anybody of: one sentence for each kind, line and time. */
    unheard: z.array(z.string()),
  })
  .openapi('Routing');

export const DeliveryState = z.enum(['waiting', 'sent', 'dead']);

/** A message that leaves or has left. dead: given up; a person may send it again. */
export const Delivery = z
  .strictObject({
    id: z.uuid(),
    door: z.enum(['mail', 'webhook', 'mqtt']),
    recipientId: Id.nullable(),
    topic: z.string().nullable(),
    subject: z.string(),
    state: DeliveryState,
    attempts: z.number().int(),
    createdAt: Time,
    /** The next attempt; null once it was sent or given up. */
    dueAt: Time.nullable(),
    finishedAt: Time.nullable(),
    /** Why the last attempt failed. */
    problem: z.string().nullable(),
  })
  .openapi('Delivery');

export const Deliveries = z
  .strictObject({
    counts: z.strictObject({ waiting: z.number().int(), sent: z.number().int(), dead: z.number().int() }),
    /** Newest first. */
    deliveries: z.array(Delivery),
  })
  .openapi('Deliveries');

/** Longest that an alarm may stay shelved: one shift. */
const MAX_SHELVED_MINUTES = 480;

export const ShelvingSubmission = z
  .strictObject({
    id: z.uuid(),
    minutes: z.number().int().min(1).max(MAX_SHELVED_MINUTES),
    reason: requiredText,
  })
  .openapi('ShelvingSubmission');
export const UnshelvingSubmission = z
  .strictObject({ id: z.uuid(), reason: requiredText })
  .openapi('UnshelvingSubmission');

/** More than 10 alarms in 10 minutes that came to one person, or to the board as a whole. */
export const Flood = z
  .strictObject({
    /** null: the whole plant, as whoever watches the board sees it. */
    personId: Id.nullable(),
    from: Time,
    /** null: it lasts. */
    to: Time.nullable(),
    alarms: z.number().int(),
  })
  .openapi('Flood');

const AlarmTally = z.strictObject({ id: Id, alarms: z.number().int() });

export const AlarmReportQuery = z.strictObject({ from: Time, to: Time });

/** How many alarms came, how they were answered, and where they came from. An alarm that is raised again counts again. */
export const AlarmReport = z
  .strictObject({
    from: Time,
    to: Time,
    alarms: z.number().int(),
    alarmsPerHour: finite,
    /** Hours of the plant's local time with at least one alarm, oldest first. */
    hours: z.array(z.strictObject({ from: Time, alarms: z.number().int() })),
    /** Alarms outside every shift stand under "outside". */
    shifts: z.array(AlarmTally),
    lines: z.array(AlarmTally),
    streams: z.array(AlarmTally),
    severities: z.array(z.strictObject({ severity: Severity, alarms: z.number().int() })),
    acknowledged: z.strictObject({
      withinMinutes: z.number().int(),
      inTime: z.number().int(),
      late: z.number().int(),
      /** Neither acknowledged nor closed, and the time is not over. */
      waiting: z.number().int(),
      /** In time among those that are not waiting; null where there are none. */
      share: z.number().min(0).max(1).nullable(),
    }),
    /** Alarms that stood longest, at most ten. */
    longestStanding: z.array(
      z.strictObject({
        alarmId: z.number().int(),
        streamId: Id,
        raisedAt: Time,
        /** null: it stands. */
        endedAt: Time.nullable(),
        minutes: finite,
        sentence: z.string(),
      }),
    ),
    /** Streams with the most alarms, at most ten. */
    mostFrequent: z.array(z.strictObject({ streamId: Id, alarms: z.number().int(), share: z.number() })),
    floods: z.array(Flood),
    /** Share of the period in which the board was in a flood. */
    timeInFlood: z.number().min(0).max(1),
    /** Shelved at some time of the period. */
    shelvings: z.number().int(),
  })
  .openapi('AlarmReport');

// ---- The three workplaces --------------------------------------------------------------------------------

const DueState = z.enum(['done', 'due', 'late', 'missed', 'declared missed', 'upcoming']);

/** One planned sample of today. */
export const DueSample = z
  .strictObject({ dueAt: Time, state: DueState, sampleId: z.uuid().nullable() })
  .openapi('DueSample');

/** What the stream makes plausible, for checking a value while it is typed. */
export const Expectation = z
  .strictObject({
    mean: calculated,
    standardDeviation: calculated,
    /** A real part may lie this far from the mean; nearer, no slip of the keys is suggested. */
    realWithin: calculated,
    otherModels: z.array(z.strictObject({ modelId: Id, name: z.string(), nominal: finite })),
  })
  .openapi('Expectation');

export const StationTask = z
  .strictObject({
    streamId: Id,
    /** The model that the line runs now. */
    modelId: Id.nullable(),
    slots: z.array(DueSample),
    limitsVersion: z.number().int().nullable(),
    expectation: Expectation.nullable(),
    openAlarmId: z.number().int().nullable(),
    recent: z.array(Sample),
  })
  .openapi('StationTask');

export const StationWork = z
  .strictObject({
    now: Time,
    stationId: Id,
    lineId: Id,
    runningModelId: Id.nullable(),
    lot: z.string().nullable(),
    tasks: z.array(StationTask),
  })
  .openapi('StationWork');

export const FloorStream = z
  .strictObject({
    streamId: Id,
    /**
     * Worst thing first: alarm; signal (no open alarm, but the newest sample stands on a signal, calls, or has a
     * value outside the drawing); late, no limits, steady, idle (line does not run).
     */
    state: z.enum(['alarm', 'signal', 'late', 'no-limits', 'steady', 'not-charted', 'idle']),
    lastSampleAt: Time.nullable(),
    lastSentence: z.string(),
    alarmId: z.number().int().nullable(),
    missedToday: z.number().int(),
  })
  .openapi('FloorStream');

export const Floor = z
  .strictObject({
    now: Time,
    streams: z.array(FloorStream),
    alarms: z.array(Alarm),
    /** Changes of a set-up whose first piece is not approved, oldest first. */
    restarts: z.array(Restart),
    /** Alarm floods that last. */
    floods: z.array(Flood),
    /** What a person has to look after: messages given up, measurements by MQTT not taken in. */
    deadMessages: z.number().int(),
    refusedMeasurements: z.number().int(),
  })
  .openapi('Floor');

/** Planned samples in a row that were not taken, whichever part model ran. */
export const SampleGap = z
  .strictObject({
    /** When the samples on either side were taken; null: there is none. */
    before: Time.nullable(),
    after: Time.nullable(),
    firstDueAt: Time,
    lastDueAt: Time,
    missing: z.number().int().min(1),
    /** Those that a person declared missed, with the reason. */
    declared: z.array(MissedSample),
  })
  .openapi('SampleGap');

/** One stream and part model over a period: everything that Review draws. */
export const Review = z
  .strictObject({
    streamId: Id,
    modelId: Id,
    from: Time,
    to: Time,
    /** true: the period held more samples than are sent; the oldest were left out. */
    truncated: z.boolean(),
    samples: z.array(Sample),
    signals: z.array(Signal),
    limits: z.array(LimitsVersion),
    events: z.array(PlantEvent),
    alarms: z.array(Alarm),
    /** Signals, by id, that belong to a closed alarm with a recorded cause. */
    explainedSignals: z.array(z.number().int()),
    /** Oldest first. */
    gaps: z.array(SampleGap),
    /** Gaps are listed from here on; null: the stream has no sampling plan, so nobody knows of any. */
    gapsSince: Time.nullable(),
  })
  .openapi('Review');

// ---- Shift handover --------------------------------------------------------------------------------------

/** One thing that is open when a shift ends, in words, as they are kept. */
export const OpenMatter = z
  .strictObject({
    /** The same thing has the same key whenever it is looked at. */
    key: z.string(),
    title: z.string(),
    where: z.string(),
    severity: Severity.nullable(),
    /** Name of who has it; null: nobody. */
    who: z.string().nullable(),
    since: Time.nullable(),
    until: Time.nullable(),
    sentence: z.string(),
    /** What to do next, and why. */
    next: z.string(),
    alarmId: z.number().int().nullable(),
    /** Only where it is about a restart. */
    restartId: z.uuid().optional(),
  })
  .openapi('OpenMatter');

export const OpenMattersOf = z.enum([
  'alarms',
  'shelved alarms',
  'parts set apart',
  'restarts',
  'stoppages',
  'missed samples',
  'concessions',
  'messages',
]);

/** Everything that is open at a moment, for whoever goes and whoever comes. */
export const OpenWork = z
  .strictObject({
    at: Time,
    /** Missed samples are those since then: the last handover, or half a day where there was none. */
    since: Time,
    sections: z.array(z.strictObject({ of: OpenMattersOf, matters: z.array(OpenMatter) })),
  })
  .openapi('OpenWork');

/** Keys of what the signing person has seen: what they have not seen they do not sign. */
const SeenKeys = z.array(z.string().max(400)).max(10_000);

export const HandoverSubmission = z
  .strictObject({
    id: z.uuid(),
    /** Temporary rules, what to watch. */
    words: text,
    seen: SeenKeys,
  })
  .openapi('HandoverSubmission');

export const HandoverTakingSubmission = z
  .strictObject({ id: z.uuid(), words: text, seen: SeenKeys })
  .openapi('HandoverTakingSubmission');

export const HandoverWithdrawalSubmission = z
  .strictObject({ id: z.uuid(), reason: requiredText })
  .openapi('HandoverWithdrawalSubmission');

export const HandoverState = z.enum(['waiting', 'taken', 'withdrawn']);

/** Listed once, for schemas of the one cannot be extended by the other: each allows no further field. */
const handoverSummary = {
  no: z.number().int(),
  state: HandoverState,
  personId: Id,
  at: Time,
  words: z.string(),
  /** How many matters were open. */
  openMatters: z.number().int(),
  /** Who took it over, or withdrew it, and what they wrote; null: it waits. */
  end: z
    .strictObject({ kind: z.enum(['taken', 'withdrawn']), personId: Id, at: Time, words: z.string() })
    .nullable(),
};
export const HandoverSummary = z.strictObject(handoverSummary).openapi('HandoverSummary');

export const Handover = z
  .strictObject({
    ...handoverSummary,
    /** As it was seen by whoever gave it. */
    open: OpenWork,
    /** What came up after it was given: until now, or until it was taken over and as it was shown then. */
    openedSince: z.array(OpenMatter),
  })
  .openapi('Handover');

// ---- Concessions -----------------------------------------------------------------------------------------

/** A customer takes parts that are not as the drawing asks: so many, until a day. */
export const ConcessionSubmission = z
  .strictObject({
    id: z.uuid(),
    /** The alarm at which the parts were set apart and counted. */
    alarmId: z.number().int().min(1),
    /** As the plant calls them. */
    customer: requiredText.max(200),
    /** The second signature: the customer has no account here, so where it can be read, who gave it and when. */
    consent: z.strictObject({
      document: requiredText.max(200),
      givenBy: requiredText.max(200),
      on: z.iso.date(),
    }),
    quantity: z.number().int().min(1).max(1e9),
    /** The last day on which parts may be released under it, in the plant's local time. */
    expiresOn: z.iso.date(),
    reason: requiredText,
  })
  .openapi('ConcessionSubmission');

const entryOfConcession = <const K extends string>(kind: K) => ({
  id: z.uuid(),
  kind: z.literal(kind),
  text: requiredText,
});

export const ConcessionEntrySubmission = z
  .discriminatedUnion('kind', [
    z.strictObject({ ...entryOfConcession('released'), quantity: z.number().int().min(1).max(1e9) }),
    /** Counted wrongly, or fetched back. */
    z.strictObject({ ...entryOfConcession('taken back'), quantity: z.number().int().min(1).max(1e9) }),
    z.strictObject(entryOfConcession('withdrawn')),
  ])
  .openapi('ConcessionEntrySubmission');

export const ConcessionState = z.enum(['valid', 'used up', 'expired', 'withdrawn']);

export const Concession = z
  .strictObject({
    no: z.number().int(),
    state: ConcessionState,
    alarmId: z.number().int(),
    streamId: Id,
    modelId: Id,
    customer: z.string(),
    consent: z.strictObject({ document: z.string(), givenBy: z.string(), on: z.iso.date() }),
    quantity: z.number().int(),
    released: z.number().int(),
    left: z.number().int(),
    expiresOn: z.iso.date(),
    reason: z.string(),
    personId: Id,
    at: Time,
    sentence: z.string(),
    entries: z.array(
      z.strictObject({
        kind: z.enum(['released', 'taken back', 'withdrawn']),
        quantity: z.number().int().nullable(),
        text: z.string(),
        personId: Id,
        at: Time,
      }),
    ),
  })
  .openapi('Concession');

// ---- CSV -------------------------------------------------------------------------------------------------

export const CsvShape = z
  .strictObject({
    delimiter: z.enum([',', ';', '\t', '|', ' ']),
    decimalMark: z.enum(['.', ',']),
    encoding: z.enum(['utf-8', 'utf-16le', 'windows-1252']),
    headerRow: z.boolean(),
  })
  .openapi('CsvShape');

/** A sheet of a workbook (.xlsx). Numbers in it have no decimal mark; texts that are numbers do. */
export const SheetShape = z
  .strictObject({
    format: z.literal('workbook'),
    sheet: z.string().max(200),
    decimalMark: z.enum(['.', ',']),
    headerRow: z.boolean(),
  })
  .openapi('SheetShape');

/** One JSON value a line: objects, whose names are the columns, or lists. */
export const JsonLinesShape = z
  .strictObject({
    format: z.literal('json-lines'),
    decimalMark: z.enum(['.', ',']),
    headerRow: z.literal(true),
  })
  .openapi('JsonLinesShape');

/** How a file is read as a table. */
export const FileShape = z.union([CsvShape, SheetShape, JsonLinesShape]).openapi('FileShape');

/** A file that was uploaded and looked at; nothing of it is stored as samples yet. */
export const ImportFile = z
  .strictObject({
    id: z.uuid(),
    fileName: z.string(),
    bytes: z.number().int(),
    rows: z.number().int(),
    shape: FileShape,
    /** Of a workbook: its sheets, one of which the shape names. */
    sheets: z.array(z.string()).optional(),
    columns: z.array(z.string()),
    /** First rows, as text. */
    firstRows: z.array(z.array(z.string())),
  })
  .openapi('ImportFile');

export const DateFormat = z.enum([
  'iso',
  'dd.MM.yyyy HH:mm',
  'dd/MM/yyyy HH:mm',
  'MM/dd/yyyy HH:mm',
  'yyyy-MM-dd HH:mm',
  // Days since the end of 1899, as spreadsheets count: 45901.2708 is 1 September 2025, 06:30.
  'serial',
]);

export const ImportMapping = z
  .strictObject({
    shape: FileShape,
    streamId: Id,
    modelId: Id,
    unit: Unit,
    layout: z.discriminatedUnion('form', [
      /** One row a sample, one column a reading. */
      z.strictObject({
        form: z.literal('wide'),
        valueColumns: z.array(z.number().int().min(0)).min(1).max(MAX_READINGS),
      }),
      /** One row a reading; rows with the same text in sampleColumn belong together. */
      z.strictObject({
        form: z.literal('long'),
        valueColumn: z.number().int().min(0),
        sampleColumn: z.number().int().min(0),
      }),
      /** One row a sample of counted parts. */
      z.strictObject({
        form: z.literal('count'),
        inspectedColumn: z.number().int().min(0),
        nonconformingColumn: z.number().int().min(0),
      }),
    ]),
    /** Where the time of a sample comes from: a column, or a first time and a step. */
    time: z.discriminatedUnion('from', [
      z.strictObject({ from: z.literal('column'), column: z.number().int().min(0), format: DateFormat }),
      z.strictObject({
        from: z.literal('sequence'),
        first: Time,
        stepMinutes: z.number().positive().max(100_000),
      }),
    ]),
    lotColumn: z.number().int().min(0).nullable(),
  })
  .openapi('ImportMapping');

export const BadRow = z
  .strictObject({
    /** 1-based line in the file. */
    line: z.number().int(),
    column: z.string().nullable(),
    text: z.string(),
    problem: z.string(),
  })
  .openapi('BadRow');

/** Something in a file that can be stored as it stands but looks wrong: a person should see it first. */
export const ImportWarning = z
  .strictObject({
    kind: z.enum(['questioned', 'outside-specification', 'same-time', 'fewer-readings']),
    /** 1-based line in the file. */
    line: z.number().int(),
    /** What stands there, with the decimal mark of the file. */
    text: z.string(),
    sentence: z.string(),
  })
  .openapi('ImportWarning');

export const ImportPreview = z
  .strictObject({
    samples: z.number().int(),
    readings: z.number().int(),
    firstTakenAt: Time.nullable(),
    lastTakenAt: Time.nullable(),
    /** Samples of this file that are stored already and would be left as they are. */
    alreadyStored: z.number().int(),
    firstSamples: z.array(z.strictObject({ takenAt: Time, readings: z.array(finite.nullable()) })),
    badRows: z.array(BadRow),
    /** All of them; badRows may hold only the first. */
    badRowCount: z.number().int(),
    /** About samples that would be stored; they do not block. */
    warnings: z.array(ImportWarning),
    /** All of them; warnings may hold only some, of every kind. */
    warningCount: z.number().int(),
    /** Samples that would be stored and have at least one warning. */
    samplesWithWarnings: z.number().int(),
  })
  .openapi('ImportPreview');

export const ImportProgress = z
  .strictObject({
    id: z.uuid(),
    state: z.enum(['uploaded', 'running', 'done', 'failed']),
    done: z.number().int(),
    total: z.number().int(),
    problem: z.string().nullable(),
  })
  .openapi('ImportProgress');

/** What to take out as CSV: by default one row a sample, commas and decimal points, from the beginning until now. */
export const ExportQuery = z.strictObject({
  streamId: Id,
  modelId: Id,
  from: Time.optional(),
  to: Time.optional(),
  form: z.enum(['wide', 'long']).optional(),
  delimiter: CsvShape.shape.delimiter.optional(),
  decimalMark: CsvShape.shape.decimalMark.optional(),
});

// ---- Messages --------------------------------------------------------------------------------------------

/** One server-sent event: what changed, so that a page fetches what it shows anew. */
export const Change = z
  .discriminatedUnion('kind', [
    z.strictObject({ kind: z.literal('sample'), streamId: Id, sampleId: z.uuid() }),
    z.strictObject({ kind: z.literal('alarm'), streamId: Id, alarmId: z.number().int(), state: AlarmState }),
    z.strictObject({ kind: z.literal('limits'), streamId: Id }),
    z.strictObject({ kind: z.literal('event'), lineId: Id }),
    z.strictObject({ kind: z.literal('restart'), lineId: Id, restartId: z.uuid() }),
    z.strictObject({ kind: z.literal('missed'), streamId: Id }),
    z.strictObject({ kind: z.literal('plant') }),
    z.strictObject({ kind: z.literal('handover') }),
    z.strictObject({
      kind: z.literal('import'),
      importId: z.uuid(),
      done: z.number().int(),
      total: z.number().int(),
    }),
  ])
  .openapi('Change');

export const Health = z
  .strictObject({
    status: z.enum(['ok']),
    now: Time,
    version: z.string(),
    demo: z.boolean(),
    samples: z.number().int(),
  })
  .openapi('Health');

/** RFC 9457 problem details. `errors` names each field that is wrong, and the fix. */
export const Problem = z
  .strictObject({
    type: z.string(),
    title: z.string(),
    status: z.number().int(),
    detail: z.string(),
    errors: z.array(
      z.strictObject({
        field: z.string(),
        message: z.string(),
        /** Which rule a calculation saw broken, such as "not-finite"; on its refusals only. */
        code: z.string().optional(),
      }),
    ),
  })
  .openapi('Problem');

/** A measurement that came by MQTT and could not be taken in. */
export const RefusedMeasurement = z
  .strictObject({
    id: z.number().int(),
    at: Time,
    topic: z.string(),
    personId: z.string().nullable(),
    /** As it came, its beginning where it was too long. */
    payload: z.string(),
    problem: Problem,
    /** When it was taken in after all; null: it was not. */
    acceptedAt: Time.nullable(),
  })
  .openapi('RefusedMeasurement');

/** A public function of the statistics core that can be called over HTTP. */
export const Calculation = z
  .strictObject({
    name: z.string(),
    /** Folder of the core: the question that it helps to answer. */
    folder: z.string(),
    summary: z.string(),
    /** Where to send the arguments. */
    address: z.string(),
  })
  .openapi('Calculation');

export type Role = z.infer<typeof Role>;
export type SignInSubmission = z.infer<typeof SignInSubmission>;
export type Secrets = z.infer<typeof Secrets>;
export type Session = z.infer<typeof Session>;
export type Permissions = z.infer<typeof Permissions>;
export type OneTimeLink = z.infer<typeof OneTimeLink>;
export type OwnSession = z.infer<typeof OwnSession>;
export type SecondFactor = z.infer<typeof SecondFactor>;
export type NewSecondFactor = z.infer<typeof NewSecondFactor>;
export type Account = z.infer<typeof Account>;
export type RegisteredStation = z.infer<typeof RegisteredStation>;
export type SecondSignature = z.infer<typeof SecondSignature>;
export type Person = z.infer<typeof Person>;
export type Plant = z.infer<typeof Plant>;
export type RunningHours = z.infer<typeof RunningHours>;
export type Line = z.infer<typeof Line>;
export type Station = z.infer<typeof Station>;
export type PartModel = z.infer<typeof PartModel>;
export type Unit = z.infer<typeof Unit>;
export type Characteristic = z.infer<typeof Characteristic>;
export type Specification = z.infer<typeof Specification>;
export type Stream = z.infer<typeof Stream>;
export type ReactionPlan = z.infer<typeof ReactionPlan>;
export type SamplingPlan = z.infer<typeof SamplingPlan>;
export type PlantModel = z.infer<typeof PlantModel>;
export type Question = z.infer<typeof Question>;
export type Reading = z.infer<typeof Reading>;
export type CountedParts = z.infer<typeof CountedParts>;
export type SampleSubmission = z.infer<typeof SampleSubmission>;
export type SampleCorrection = z.infer<typeof SampleCorrection>;
export type SampleAnswer = z.infer<typeof SampleAnswer>;
export type Sample = z.infer<typeof Sample>;
export type SampleRevision = z.infer<typeof SampleRevision>;
export type SampleHistory = z.infer<typeof SampleHistory>;
export type MissedSample = z.infer<typeof MissedSample>;
export type MissedSampleSubmission = z.infer<typeof MissedSampleSubmission>;
export type Signal = z.infer<typeof Signal>;
export type PointLimits = z.infer<typeof PointLimits>;
export type Verdict = z.infer<typeof Verdict>;
export type LimitsRequest = z.infer<typeof LimitsRequest>;
export type LimitsVersion = z.infer<typeof LimitsVersion>;
export type EventKind = z.infer<typeof EventKind>;
export type EventSubmission = z.infer<typeof EventSubmission>;
export type PlantEvent = z.infer<typeof PlantEvent>;
export type AlarmState = z.infer<typeof AlarmState>;
export type AlarmDecision = z.infer<typeof AlarmDecision>;
export type AlarmEntry = z.infer<typeof AlarmEntry>;
export type AlarmEntrySubmission = z.infer<typeof AlarmEntrySubmission>;
export type Alarm = z.infer<typeof Alarm>;
export type AlarmDetail = z.infer<typeof AlarmDetail>;
export type Containment = z.infer<typeof Containment>;
export type Severity = z.infer<typeof Severity>;
export type RestartKind = z.infer<typeof RestartKind>;
export type PlannedFirstPiece = z.infer<typeof PlannedFirstPiece>;
export type Restart = z.infer<typeof Restart>;
export type FirstPieceResult = z.infer<typeof FirstPieceResult>;
export type RestartEntryKind = z.infer<typeof RestartEntryKind>;
export type GoneWrong = z.infer<typeof GoneWrong>;
export type RestartDetail = z.infer<typeof RestartDetail>;
export type FirstPieceSubmission = z.infer<typeof FirstPieceSubmission>;
export type RestartDecision = z.infer<typeof RestartDecision>;
export type Shift = z.infer<typeof Shift>;
export type Recipient = z.infer<typeof Recipient>;
export type RoutingRule = z.infer<typeof RoutingRule>;
export type Routing = z.infer<typeof Routing>;
export type Delivery = z.infer<typeof Delivery>;
export type Deliveries = z.infer<typeof Deliveries>;
export type ShelvingSubmission = z.infer<typeof ShelvingSubmission>;
export type UnshelvingSubmission = z.infer<typeof UnshelvingSubmission>;
export type Flood = z.infer<typeof Flood>;
export type AlarmReport = z.infer<typeof AlarmReport>;
export type RefusedMeasurement = z.infer<typeof RefusedMeasurement>;
export type DueSample = z.infer<typeof DueSample>;
export type Expectation = z.infer<typeof Expectation>;
export type StationTask = z.infer<typeof StationTask>;
export type StationWork = z.infer<typeof StationWork>;
export type FloorStream = z.infer<typeof FloorStream>;
export type Floor = z.infer<typeof Floor>;
export type OpenMatter = z.infer<typeof OpenMatter>;
export type OpenMattersOf = z.infer<typeof OpenMattersOf>;
export type OpenWork = z.infer<typeof OpenWork>;
export type HandoverSubmission = z.infer<typeof HandoverSubmission>;
export type HandoverTakingSubmission = z.infer<typeof HandoverTakingSubmission>;
export type HandoverWithdrawalSubmission = z.infer<typeof HandoverWithdrawalSubmission>;
export type HandoverState = z.infer<typeof HandoverState>;
export type HandoverSummary = z.infer<typeof HandoverSummary>;
export type Handover = z.infer<typeof Handover>;
export type ConcessionSubmission = z.infer<typeof ConcessionSubmission>;
export type ConcessionEntrySubmission = z.infer<typeof ConcessionEntrySubmission>;
export type ConcessionState = z.infer<typeof ConcessionState>;
export type Concession = z.infer<typeof Concession>;
export type SampleGap = z.infer<typeof SampleGap>;
export type Review = z.infer<typeof Review>;
export type CsvShape = z.infer<typeof CsvShape>;
export type SheetShape = z.infer<typeof SheetShape>;
export type JsonLinesShape = z.infer<typeof JsonLinesShape>;
export type FileShape = z.infer<typeof FileShape>;
export type DateFormat = z.infer<typeof DateFormat>;
export type ImportFile = z.infer<typeof ImportFile>;
export type ImportMapping = z.infer<typeof ImportMapping>;
export type BadRow = z.infer<typeof BadRow>;
export type ImportWarning = z.infer<typeof ImportWarning>;
export type ImportPreview = z.infer<typeof ImportPreview>;
export type ImportProgress = z.infer<typeof ImportProgress>;
export type Change = z.infer<typeof Change>;
export type Health = z.infer<typeof Health>;
export type Problem = z.infer<typeof Problem>;
export type Identity = z.infer<typeof Identity>;
export type KeyScope = z.infer<typeof KeyScope>;
export type KeyReach = z.infer<typeof KeyReach>;
export type NewApiKey = z.infer<typeof NewApiKey>;
export type ApiKey = z.infer<typeof ApiKey>;
