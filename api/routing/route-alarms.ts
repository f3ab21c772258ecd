/**
 * Who hears of an alarm. Runs inside the transaction that changed it, so that no alarm is stored without its
 * messages, and none is told that was not stored.
 */
import { addDelivery } from '../notify/deliveries.ts';
import { stationOf, streamOf } from '../plant-lookup.ts';
import type { Change, Recipient, RoutingRule, Severity } from '../schemas.ts';
import type { AlarmRow, StoreReads, StoreTransaction } from '../store/store.ts';
import { type IncidentMessage, mailText, type Occasion, subjectOf, toldAlarm } from './alarm-messages.ts';
import { type RoutingRecords, routingRecords } from './routing-records.ts';
import { fits } from './rule-fits.ts';
import { isWorse, severityOf } from './severity.ts';
import { bringBack, overdueOnShelf, shelvedNow } from './shelf.ts';
import { worsened } from './worsened.ts';

export interface RoutingOptions {
  /** Where people open the page; empty: messages carry paths only. */
  readonly pageAddress: string;
  /** Begin of every topic; null: no broker, so the states of streams are not written for one. */
  readonly topicPrefix: string | null;
}

export interface Router {
  /** Call inside the transaction, with what it changed. */
  alarmsChanged(transaction: StoreTransaction, changes: readonly Change[], now: number): Promise<void>;
  /** The streams whose alarms catchUp has to do with, maybe none; null: it has nothing to do. */
  behind(store: StoreReads, now: number): Promise<readonly string[] | null>;
  /**
   * Escalates what is due, and brings back what was shelved long enough in these streams. Gives what changed. Of
   * several nodes that come to it together each step is taken by one.
   */
  catchUp(transaction: StoreTransaction, streams: readonly string[], now: number): Promise<readonly Change[]>;
}

interface Incident {
  readonly no: number;
  readonly ruleId: string;
  readonly lineId: string;
  readonly openedAt: number;
  readonly severity: Severity;
  readonly step: number;
}

const MINUTE = 60_000;
const incidentColumns = `no, rule_id as "ruleId", line_id as "lineId", opened_at as "openedAt", severity, step`;
/** An alarm of an incident that nobody has taken since it joined, and that is not shelved. */
const waiting = `incident_alarms.answered_at is null and alarms.closed_at is null and not exists (
  select 1 from shelved_alarms where shelved_alarms.alarm_id = alarms.id and shelved_alarms.until > ?)`;
const dueIncidents = `select ${incidentColumns} from incidents
  where step_due_at is not null and step_due_at <= ? order by step_due_at limit 100`;

export function createRouter({ pageAddress, topicPrefix }: RoutingOptions): Router {
  /** Everything that one transaction needs to know. */
  async function visit(transaction: StoreTransaction, now: number) {
    const { sql } = transaction;
    const plant = await transaction.plantModel();
    const routing = await routingRecords(sql);
    const told = new Set<string>();

    const tell = async (
      rule: RoutingRule,
      incident: Incident,
      occasion: Occasion,
      recipientIds: readonly string[],
      calling: AlarmRow | null,
    ): Promise<void> => {
      const rows = await sql.all<{ id: number }>(
        `select alarms.id from incident_alarms join alarms on alarms.id = incident_alarms.alarm_id
         where incident_no = ? and ${waiting} order by alarms.id`,
        incident.no,
        now,
      );
      const alarms = [];
      for (const { id } of rows) {
        const alarm = (await transaction.alarm(id))!;
        alarms.push(
          await toldAlarm(transaction, plant, routing.safetyCharacteristicIds, alarm, now, pageAddress),
        );
      }
      const { no, lineId, severity, step } = incident;
      const message: IncidentMessage = {
        type: `alarm.${occasion}`,
        timestamp: new Date(now).toISOString(),
        data: { incident: no, lineId, severity, rule: rule.id, step, alarms },
      };
      for (const recipientId of recipientIds) {
        const recipient = routing.recipients.find(({ id }) => id === recipientId);
        // Two rules that name the same person tell them once.
        const key = `${recipientId} ${rows.map(({ id }) => id).join()}`;
        if (recipient === undefined || told.has(key)) continue;
        told.add(key);
        await addMessage(recipient, message);
        for (const { id } of rows) {
          // What the message repeats of an incident is no further alarm to somebody who knows it.
          await toldPerson(recipient.personId, id, id === calling?.id ? now : incident.openedAt);
        }
      }
    };

    const addMessage = async (recipient: Recipient, message: IncidentMessage): Promise<void> => {
      const { to } = recipient;
      const subject = subjectOf(plant, message);
      const body = to.by === 'mail' ? mailText(message) : JSON.stringify(message);
      const topic = to.by === 'topic' ? `${topicPrefix ?? 'runtrue'}/messages/${to.topic}` : null;
      const door = to.by === 'topic' ? 'mqtt' : to.by;
      await addDelivery(sql, { door, recipientId: recipient.id, topic, subject, body }, now);
    };

    /** Counts an alarm as one that came to a person, unless it has come to them since then, by whatever way. */
    const toldPerson = async (personId: string | null, alarmId: number, since: number): Promise<void> => {
      if (personId === null) return;
      const known = 'select 1 from told_people where person_id = ? and alarm_id = ? and at >= ?';
      if ((await sql.one(known, personId, alarmId, since)) !== null) return;
      const row = 'insert into told_people (person_id, alarm_id, at) values (?, ?, ?)';
      await sql.run(row, personId, alarmId, now);
    };

    /**
     * Another node that tells by this rule waits until this transaction has ended, and then sees the incidents of it:
     * two alarms of different streams, stored at the same instant, would open two otherwise. Written as it stands,
     * because that holds a row on every engine.
     */
    const holdRule = ({ id }: RoutingRule): Promise<void> =>
      sql.run(`update routing_records set body = body where kind = 'rules' and id = ?`, id);

    /** The alarm calls: every rule that fits tells its people, or takes the alarm into an incident that they know. */
    const call = async (alarm: AlarmRow, severity: Severity, worse = false): Promise<void> => {
      const stream = streamOf(plant, alarm.streamId, 'streamId');
      const { lineId } = stationOf(plant, stream.stationId, 'stationId');
      for (const rule of routing.rules) {
        if (!fits(rule, routing, plant, lineId, severity, now)) continue;
        await holdRule(rule);
        const open = await sql.one<Incident>(
          `select ${incidentColumns} from incidents where rule_id = ? and line_id = ? and opened_at > ?
             and exists (select 1 from incident_alarms join alarms on alarms.id = incident_alarms.alarm_id
               where incident_alarms.incident_no = incidents.no and ${waiting})
           order by no desc limit 1`,
          rule.id,
          lineId,
          now - rule.groupMinutes * MINUTE,
          now,
        );
        if (open === null) await openIncident(rule, lineId, alarm, severity);
        else await joinIncident(rule, open, alarm, severity, worse);
      }
    };

    const openIncident = async (
      rule: RoutingRule,
      lineId: string,
      alarm: AlarmRow,
      severity: Severity,
    ): Promise<void> => {
      const incident = await sql.one<Incident>(
        `insert into incidents (rule_id, line_id, opened_at, severity, step, step_due_at)
         values (?, ?, ?, ?, 0, ?) returning ${incidentColumns}`,
        rule.id,
        lineId,
        now,
        severity,
        dueAt(rule, 0, now),
      );
      await addToIncident(incident!, alarm);
      await tell(rule, incident!, 'raised', rule.steps[0]!.recipientIds, alarm);
      // Worse than when somebody took it: told once more, but there is somebody.
      if (alarm.acknowledgedAt !== null) await answered(alarm);
    };

    const joinIncident = async (
      rule: RoutingRule,
      incident: Incident,
      alarm: AlarmRow,
      severity: Severity,
      worse: boolean,
    ): Promise<void> => {
      await addToIncident(incident, alarm);
      const knowing = rule.steps.slice(0, incident.step + 1).flatMap(({ recipientIds }) => recipientIds);
      if (worse || isWorse(severity, incident.severity)) {
        const worst = isWorse(severity, incident.severity) ? severity : incident.severity;
        await sql.run('update incidents set severity = ? where no = ?', worst, incident.no);
        await tell(rule, { ...incident, severity: worst }, 'worse', knowing, alarm);
        return;
      }
      // No message, but one more alarm that is theirs.
      for (const personId of new Set(knowing.map((id) => personOf(routing, id)))) {
        await toldPerson(personId, alarm.id, now);
      }
    };

    const addToIncident = async ({ no }: Incident, { id }: AlarmRow): Promise<void> => {
      await sql.run(
        `insert into incident_alarms (incident_no, alarm_id, at) values (?, ?, ?)
         on conflict (incident_no, alarm_id) do update set at = excluded.at, answered_at = null`,
        no,
        id,
        now,
      );
    };

    const answered = async ({ id }: AlarmRow): Promise<void> => {
      const row = 'update incident_alarms set answered_at = ? where alarm_id = ? and answered_at is null';
      await sql.run(row, now, id);
    };

    /** Compares an alarm with what was told of it: does it call anew, or has it become worse? */
    const route = async (alarm: AlarmRow): Promise<void> => {
      if (alarm.acknowledgedAt !== null || alarm.closedAt !== null) {
        await answered(alarm);
      }
      if (alarm.closedAt !== null) await bringBack(transaction, alarm, 'The alarm was closed.', now);
      const severity = await severityOf(sql, plant, routing.safetyCharacteristicIds, alarm);
      const entries = await sql.one<{ calls: number }>(
        `select count(*) as calls from alarm_entries where alarm_id = ? and kind in ('raised', 'raised-again')`,
        alarm.id,
      );
      const calls = entries?.calls ?? 0;
      const before = await sql.one<{ calls: number; severity: Severity }>(
        'select calls, severity from routed_alarms where alarm_id = ?',
        alarm.id,
      );
      const shelved = alarm.closedAt === null ? await shelvedNow(sql, alarm.id, now) : null;
      if (before?.calls === calls && before.severity === severity && shelved === null) return;
      await sql.run(
        `insert into routed_alarms (alarm_id, calls, severity) values (?, ?, ?)
         on conflict (alarm_id) do update set calls = excluded.calls, severity = excluded.severity`,
        alarm.id,
        calls,
        severity,
      );
      if (alarm.closedAt !== null) return;
      if (shelved !== null) {
        // Whoever shelved it knew less than this.
        const severities = { before: before?.severity ?? severity, now: severity };
        const because = await worsened(transaction, plant, alarm, severities, shelved);
        if (because === null) return;
        await bringBack(transaction, alarm, because, now);
        await call(alarm, severity, true);
        return;
      }
      const isNew = before === null || calls > before.calls;
      if (isNew || isWorse(severity, before.severity)) await call(alarm, severity);
    };

    /** All open alarms of the stream, as one message that stays on its topic. */
    const publishState = async (streamId: string): Promise<void> => {
      if (topicPrefix === null) return;
      const stream = streamOf(plant, streamId, 'streamId');
      const { lineId } = stationOf(plant, stream.stationId, 'stationId');
      const rows = await transaction.alarms({ streamId, open: true, limit: 100 });
      const alarms = [];
      for (const row of rows) {
        const alarm = await toldAlarm(
          transaction,
          plant,
          routing.safetyCharacteristicIds,
          row,
          now,
          pageAddress,
        );
        const shelved = await shelvedNow(sql, row.id, now);
        alarms.push({
          ...alarm,
          shelvedUntil: shelved === null ? null : new Date(shelved.until).toISOString(),
        });
      }
      const body = JSON.stringify({ streamId, lineId, at: new Date(now).toISOString(), alarms });
      const topic = `${topicPrefix}/alarms/${lineId}/${streamId}`;
      const subject = `Alarms of ${streamId}`;
      await addDelivery(sql, { door: 'mqtt', recipientId: null, topic, subject, body }, now);
    };

    return { sql, plant, routing, holdRule, tell, call, route, publishState };
  }

  return {
    async alarmsChanged(transaction, changes, now) {
      const concerned = changes.filter((change) => change.kind === 'alarm');
      if (concerned.length === 0) return;
      const { route, publishState } = await visit(transaction, now);
      for (const alarmId of new Set(concerned.map((change) => change.alarmId))) {
        const alarm = await transaction.alarm(alarmId);
        if (alarm !== null) await route(alarm);
      }
      for (const streamId of new Set(concerned.map((change) => change.streamId)))
        await publishState(streamId);
    },

    async behind({ sql }, now) {
      const overdue = await overdueOnShelf(sql, now);
      if (overdue.length === 0 && (await sql.one(dueIncidents, now)) === null) return null;
      return [...new Set(overdue.map(({ streamId }) => streamId))];
    },

    async catchUp(transaction, streams, now) {
      const { sql, routing, holdRule, tell, call, publishState, plant } = await visit(transaction, now);
      const changes: Change[] = [];
      for (const { alarmId, streamId } of await overdueOnShelf(sql, now)) {
        // What came onto the list since then is done next time.
        if (!streams.includes(streamId)) continue;
        const alarm = (await transaction.alarm(alarmId))!;
        if (!(await bringBack(transaction, alarm, 'Its time on the shelf is over.', now))) continue;
        changes.push({ kind: 'alarm', streamId: alarm.streamId, alarmId, state: alarm.state });
        if (alarm.acknowledgedAt === null && alarm.closedAt === null) {
          await call(alarm, await severityOf(sql, plant, routing.safetyCharacteristicIds, alarm));
        }
        await publishState(alarm.streamId);
      }
      for (const incident of await sql.all<Incident>(dueIncidents, now)) {
        await escalate(incident);
      }
      return changes;

      async function escalate(incident: Incident): Promise<void> {
        const rule = routing.rules.find(({ id }) => id === incident.ruleId);
        const step = incident.step + 1;
        const next = rule?.active ? rule.steps[step] : undefined;
        const unanswered = await sql.one(
          `select 1 from incident_alarms join alarms on alarms.id = incident_alarms.alarm_id
           where incident_no = ? and ${waiting} limit 1`,
          incident.no,
          now,
        );
        if (rule === undefined || next === undefined || unanswered === null) {
          await sql.run('update incidents set step_due_at = null where no = ?', incident.no);
          return;
        }
        await holdRule(rule);
        // Of two nodes that come here together, one finds the step already taken.
        const taken = await sql.one(
          'update incidents set step = ?, step_due_at = ? where no = ? and step = ? returning no',
          step,
          dueAt(rule, step, incident.openedAt),
          incident.no,
          incident.step,
        );
        if (taken !== null) await tell(rule, { ...incident, step }, 'escalated', next.recipientIds, null);
      }
    },
  };
}

/** When the step after this one is due; null where it is the last. */
function dueAt({ steps }: RoutingRule, step: number, openedAt: number): number | null {
  const next = steps[step + 1];
  return next === undefined ? null : openedAt + next.afterMinutes * MINUTE;
}

const personOf = ({ recipients }: RoutingRecords, id: string): string | null =>
  recipients.find((recipient) => recipient.id === id)?.personId ?? null;
