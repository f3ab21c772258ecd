import { useSignal } from '@preact/signals';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { Characteristic } from '../../api/schemas.ts';
import { ChartCanvas } from '../charts/ChartCanvas.tsx';
import {
  type ChartSeries,
  controlChartConfiguration,
  LEFT,
  marginForNames,
} from '../charts/control-chart-configuration.ts';
import { valueAxis } from '../charts/value-axis.ts';
import { between, moved, type VisibleRange, wholeRange, zoomed } from '../charts/visible-range.ts';
import { formatCount, formatDate, formatDateTime, formatNumber, formatTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { chartSeries } from './chart-series.ts';
import { EventKey, EventLine } from './EventLine.tsx';
import { GapLine } from './GapLine.tsx';
import { LineKey } from './LineKey.tsx';
import { pointSentence } from './point-sentence.ts';
import type { Study } from './study.ts';
import { chartNames } from './words.ts';

/** The chart of location above the chart of spread: one time line, one zoom, one chosen point. */
export function ControlCharts({
  study,
  characteristic,
  range,
  setRange,
  chosen,
  choose,
  onFirstChart,
}: {
  study: Study;
  characteristic: Characteristic;
  range: VisibleRange;
  setRange: (range: VisibleRange) => void;
  chosen: number | null;
  choose: (index: number) => void;
  onFirstChart: () => void;
}) {
  const plot = useRef<HTMLDivElement>(null);
  const width = useSignal(0);
  const pointed = useSignal<number | null>(null);
  /** Where a drag began and where it is, as indices. */
  const drag = useSignal<{ from: number; to: number } | null>(null);
  const count = study.points.length;
  const location = useMemo(() => chartSeries(study, 'location', characteristic.unit), [study]);
  const spread = useMemo(() => chartSeries(study, 'spread', characteristic.unit), [study]);
  const times = useMemo(() => study.points.map((point) => point.time), [study]);
  const names = chartNames[study.kind];
  const inner = Math.max(1, width.value - LEFT - marginForNames(width.value));
  const perPoint = inner / (range.last - range.first + 1);

  const indexAt = (event: { clientX: number }): number => {
    const left = plot.current!.getBoundingClientRect().left + LEFT;
    const index = Math.floor((event.clientX - left) / perPoint) + range.first;
    return Math.min(range.last, Math.max(range.first, index));
  };
  const zoom = (factor: number, about?: number): void => {
    const middle = (range.first + range.last) / 2;
    setRange(zoomed(range, factor, about ?? chosen ?? middle, count));
  };

  useEffect(() => {
    const element = plot.current!;
    const measure = new ResizeObserver(() => {
      width.value = Math.floor(element.clientWidth);
    });
    measure.observe(element);
    return () => measure.disconnect();
  }, []);

  // Not passive, for the browser would zoom the whole page; so it cannot be an attribute.
  useEffect(() => {
    const element = plot.current!;
    const wheel = (event: WheelEvent): void => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      zoom(event.deltaY > 0 ? 1.25 : 0.8, indexAt(event));
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  });

  const shown = pointed.value ?? chosen;
  const words = {
    value: (value: number) => formatNumber(value, characteristic.decimals + 1),
    time: (index: number) => {
      const time = study.points[index]?.time;
      return time === undefined
        ? []
        : [formatDate(time, utcOffsetMinutes.value).slice(5), formatTime(time, utcOffsetMinutes.value)];
    },
  };
  const canvas = (series: ChartSeries, name: string, height: number, onDrawn: () => void = () => {}) => (
    <ChartCanvas
      description={describe(series, name, study, range, words.value)}
      height={height}
      configuration={({ colours, ...room }) =>
        controlChartConfiguration(series, { range: range, chosen: shown, ...room }, words, colours)
      }
      onDrawn={onDrawn}
    />
  );

  return (
    <div class="control-charts">
      <div class="row chart-buttons" role="toolbar" aria-label="Zoom of both charts">
        <button type="button" onClick={() => zoom(0.5)}>
          Closer
        </button>
        <button type="button" onClick={() => zoom(2)}>
          Wider
        </button>
        <button type="button" onClick={() => setRange(moved(range, -0.5, count))}>
          Earlier
        </button>
        <button type="button" onClick={() => setRange(moved(range, 0.5, count))}>
          Later
        </button>
        <button type="button" onClick={() => setRange(wholeRange(count))}>
          Whole period
        </button>
        <NextSignal study={study} chosen={chosen} choose={choose} />
      </div>

      {/* The pointer is a short cut; the field under the charts and the buttons do the same from the keyboard. */}
      <div
        ref={plot}
        class="plot"
        onPointerDown={(event) => {
          if (event.button !== 0 || (event.target as Element).closest('button, input') !== null) return;
          event.currentTarget.setPointerCapture(event.pointerId);
          const index = indexAt(event);
          drag.value = { from: index, to: index };
        }}
        onPointerMove={(event) => {
          const index = indexAt(event);
          if (drag.value !== null) drag.value = { ...drag.value, to: index };
          else if (event.pointerType === 'mouse') pointed.value = index;
        }}
        onPointerLeave={() => {
          pointed.value = null;
        }}
        onPointerCancel={() => {
          drag.value = null;
        }}
        onPointerUp={() => {
          if (drag.value === null) return;
          const { from, to } = drag.value;
          drag.value = null;
          if (Math.abs(to - from) * perPoint < 8) choose(to);
          else setRange(between(from, to, count));
        }}
      >
        <h2>{names.location}</h2>
        {canvas(location, names.location, 300, onFirstChart)}
        <OffChart series={location} range={range} write={words.value} unit={characteristic.unit} />
        {width.value > 0 && (
          <div class="under-plot" style={{ marginLeft: `${LEFT}px`, width: `${inner}px` }}>
            <GapLine gaps={study.gaps} times={times} range={range} width={inner} choose={choose} />
            <EventLine events={study.events} times={times} range={range} width={inner} choose={choose} />
          </div>
        )}
        <h2>{names.spread}</h2>
        {canvas(spread, names.spread, 220)}
        <OffChart series={spread} range={range} write={words.value} unit={characteristic.unit} />
        {drag.value !== null && (
          <div
            class="drag"
            style={{
              left: `${LEFT + (Math.min(drag.value.from, drag.value.to) - range.first) * perPoint}px`,
              width: `${(Math.abs(drag.value.to - drag.value.from) + 1) * perPoint}px`,
            }}
          />
        )}
        {width.value > 0 && (
          <label class="point-field" style={{ marginLeft: `${LEFT - 12}px`, width: `${inner + 24}px` }}>
            <span class="visually-hidden">Point, earliest to latest</span>
            <input
              type="range"
              min={range.first}
              max={range.last}
              value={chosen ?? range.last}
              aria-valuetext={pointSentence(study, chosen ?? range.last, characteristic)}
              onInput={(event) => choose(Number(event.currentTarget.value))}
              onKeyDown={(event) => {
                if (event.key === '+') zoom(0.5);
                else if (event.key === '-') zoom(2);
              }}
            />
          </label>
        )}
      </div>
      <LineKey study={study} />
      <EventKey events={study.events} />
      <p class="chart-note">
        Each axis reaches to the control limits and to the points inside Tukey’s outer fences (1977) or near
        them; a point farther out is marked at the edge with its value and counted like the others. Samples
        stand at even distances in the order they were taken: nights and idle days take no room.
        {study.gaps.length > 0 &&
          ' Where planned samples are missing the line is broken, and the gap is told in words under the chart.'}{' '}
        Shown: {range.last - range.first + 1} of {count} samples,{' '}
        {formatDateTime(study.points[range.first]!.time, utcOffsetMinutes.value)} to{' '}
        {formatDateTime(study.points[range.last]!.time, utcOffsetMinutes.value)}. Arrow keys in the field
        under the charts move from point to point, + and − zoom; drag across the charts to zoom in on a part;
        Ctrl with the wheel zooms too.
      </p>
    </div>
  );
}

/** More values than these the table names. */
const MOST_NAMED = 6;

/** The points that the axis does not reach: marked at the edge, and named here. */
function OffChart({
  series,
  range,
  write,
  unit,
}: {
  series: ChartSeries;
  range: VisibleRange;
  write: (value: number) => string;
  unit: string;
}) {
  const { offChart } = useMemo(() => valueAxis(series, range), [series, range.first, range.last]);
  if (offChart.length === 0) return null;
  const named = offChart.slice(0, MOST_NAMED).map((index) => write(series.values[index]!));
  return (
    <p class="chart-note off-chart">
      <strong>
        △ {offChart.length === 1 ? 'One point lies' : `${formatCount(offChart.length)} points lie`} off the
        chart
      </strong>
      : {named.join('  ')}
      {offChart.length > MOST_NAMED && ' …'} {unit}, marked at the edge.
    </p>
  );
}

/** Moves through the signals, from wherever the chosen point is. */
function NextSignal({
  study,
  chosen,
  choose,
}: {
  study: Study;
  chosen: number | null;
  choose: (index: number) => void;
}) {
  const places = [...new Set(study.signals.map((signal) => signal.index))];
  if (places.length === 0) return null;
  const at = chosen ?? -1;
  const earlier = places.filter((place) => place < at).at(-1) ?? places.at(-1)!;
  const later = places.find((place) => place > at) ?? places[0]!;
  return (
    <>
      <button type="button" onClick={() => choose(earlier)}>
        Signal before
      </button>
      <button type="button" onClick={() => choose(later)}>
        Next signal
      </button>
    </>
  );
}

/** What a chart shows, in words. */
function describe(
  series: ChartSeries,
  name: string,
  study: Study,
  range: VisibleRange,
  value: (value: number) => string,
): string {
  const limits = series.limits[range.last];
  const off = valueAxis(series, range).offChart.length;
  let points = 0;
  let outside = 0;
  let signals = 0;
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  for (let index = range.first; index <= range.last; index++) {
    const one = series.values[index] ?? null;
    if (one === null) continue;
    points++;
    if (one < lowest) lowest = one;
    if (one > highest) highest = one;
    if (series.beyond[index]) outside++;
    if (series.signalNumbers.has(index)) signals++;
  }
  const parts = [
    `${name}: ${points} points`,
    points > 0 ? `from ${value(lowest)} to ${value(highest)}` : '',
    limits
      ? `newest limits: center line ${value(limits.centerLine)}, lower control limit ${
          limits.lowerControlLimit === null ? 'none' : value(limits.lowerControlLimit)
        }, upper control limit ${limits.upperControlLimit === null ? 'none' : value(limits.upperControlLimit)}`
      : 'no control limits',
    `${outside} outside the control limits, ${signals} with signals`,
    off > 0 ? `${off} off the chart, marked at its edge` : '',
    study.limitsFrom === 'period' ? 'limits computed from the period itself, not frozen' : '',
  ];
  return `${parts.filter(Boolean).join('; ')}. The table below the charts lists every point.`;
}
