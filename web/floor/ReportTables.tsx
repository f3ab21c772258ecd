import type { ComponentChildren } from 'preact';
import type { AlarmReport } from '../../api/schemas.ts';
import { formatCount, formatDateTime, formatNumber } from '../format.ts';
import { streamTitle } from '../names.ts';
import { linesById, utcOffsetMinutes } from '../plant.ts';
import { floodSentence } from './Lookouts.tsx';
import { severityWords } from './words.ts';

const percent = (share: number): string => `${formatNumber(share * 100, 0)} %`;
const csvAddress = ({ from, to }: AlarmReport): string =>
  `/api/alarm-report.csv?${new URLSearchParams({ from, to })}`;

function Tally({ title, rows }: { title: string; rows: readonly (readonly [ComponentChildren, number])[] }) {
  if (rows.length === 0) return null;
  return (
    <div class="scroll">
      <table>
        <caption>{title}</caption>
        <thead>
          <tr>
            <th scope="col">Where</th>
            <th scope="col" class="number">
              Alarms
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, alarms], index) => (
            <tr key={index}>
              <th scope="row">{name}</th>
              <td class="number">{formatCount(alarms)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** The report in words first, then in tables. */
export function ReportTables({ report }: { report: AlarmReport }) {
  const { acknowledged, floods } = report;
  const time = (at: string): string => formatDateTime(at, utcOffsetMinutes.value);
  return (
    <section class="stack" aria-labelledby="report-title">
      <h2 id="report-title">
        {formatCount(report.alarms)} alarm{report.alarms === 1 ? '' : 's'},{' '}
        {formatNumber(report.alarmsPerHour, 2)} an hour
      </h2>
      <p>
        {acknowledged.share === null
          ? `None had to be acknowledged within ${acknowledged.withinMinutes} minutes yet.`
          : `${percent(acknowledged.share)} were acknowledged within ${acknowledged.withinMinutes} minutes (${acknowledged.inTime} in time, ${acknowledged.late} not${acknowledged.waiting > 0 ? `, ${acknowledged.waiting} still waiting` : ''}).`}{' '}
        {report.shelvings > 0 && `Shelved: ${report.shelvings}. `}
        <a href={csvAddress(report)}>Every alarm as CSV</a>
      </p>
      {floods.length > 0 && (
        <div>
          <h3>Times with more than 10 alarms in 10 minutes</h3>
          {report.timeInFlood > 0 && (
            <p>
              {formatNumber(report.timeInFlood * 100, 1)} % of the time this board had more than one person
              can follow.
            </p>
          )}
          <ul>
            {floods.map((flood) => (
              <li key={`${flood.personId} ${flood.from}`}>
                {time(flood.from).slice(0, 10)}: {floodSentence(flood)}
              </li>
            ))}
          </ul>
        </div>
      )}
      <div class="report-tables">
        <Tally
          title="By what is at stake"
          rows={report.severities.map(({ severity, alarms }) => [severityWords[severity], alarms] as const)}
        />
        <Tally
          title="By line"
          rows={report.lines.map(({ id, alarms }) => [linesById.value.get(id)?.name ?? id, alarms] as const)}
        />
        <Tally
          title="By shift"
          rows={(report.shifts.some(({ id }) => id !== 'outside') ? report.shifts : []).map(
            ({ id, alarms }) => [id === 'outside' ? 'Outside every shift' : id, alarms] as const,
          )}
        />
        <Tally
          title="The ten most frequent"
          rows={report.mostFrequent.map(({ streamId, alarms }) => [streamTitle(streamId), alarms] as const)}
        />
        <Tally title="By hour" rows={report.hours.map(({ from, alarms }) => [time(from), alarms] as const)} />
      </div>
      {report.longestStanding.length > 0 && (
        <div class="scroll">
          <table>
            <caption>Alarms that stood longest</caption>
            <thead>
              <tr>
                <th scope="col">Alarm</th>
                <th scope="col">Since</th>
                <th scope="col" class="number">
                  Hours
                </th>
                <th scope="col">What</th>
              </tr>
            </thead>
            <tbody>
              {report.longestStanding.map(({ alarmId, streamId, raisedAt, minutes, sentence }) => (
                <tr key={`${alarmId} ${raisedAt}`}>
                  <th scope="row">
                    <a href={`/floor?alarm=${alarmId}`}>
                      {alarmId}, {streamTitle(streamId)}
                    </a>
                  </th>
                  <td>{time(raisedAt)}</td>
                  <td class="number">{formatNumber(minutes / 60, 1)}</td>
                  <td>{sentence}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
