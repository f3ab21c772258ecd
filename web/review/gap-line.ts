import type { SampleGap } from '../../api/schemas.ts';
import type { VisibleRange } from '../charts/visible-range.ts';
import { formatCount, formatDate, formatDateTime, formatTime } from '../format.ts';
import { firstAtOrAfter } from './event-line.ts';

/** Gaps that share one mark on the time line. */
interface GapMark {
  /** Distance from the left edge of the plot, in pixels. */
  readonly left: number;
  /** Widest that it may grow. */
  readonly room: number;
  /** The gap is at the left edge of the mark; else at the right one, for there is more room before it. */
  readonly side: 'left' | 'right';
  readonly index: number;
  readonly gaps: readonly SampleGap[];
}

/** A mark in few words is this wide, and a sentence so much. */
const CLOSEST = 110;
export const ROOM_FOR_SENTENCE = 460;
const WIDEST = 800;

/** The point before which a gap stands: the first that was taken after it. */
export const gapIndex = (gap: SampleGap, times: readonly number[]): number =>
  firstAtOrAfter(times, Date.parse(gap.after ?? gap.lastDueAt));

/** Marks on the time line, for the samples stand at even distances and would hide that some are missing. */
export function gapMarks(
  gaps: readonly SampleGap[],
  times: readonly number[],
  range: VisibleRange,
  width: number,
): GapMark[] {
  const perPoint = width / (range.last - range.first + 1);
  const marks: { place: number; left: number; index: number; gaps: SampleGap[] }[] = [];
  for (const gap of gaps) {
    const index = gapIndex(gap, times);
    const place = (index - range.first) * perPoint;
    if (place < 0 || index > range.last + 1) continue;
    // The last mark must not run out of the page.
    const left = Math.max(0, Math.min(place, width - CLOSEST));
    const previous = marks.at(-1);
    if (previous !== undefined && left - previous.left < CLOSEST) previous.gaps.push(gap);
    else marks.push({ place, left, index: Math.min(index, times.length - 1), gaps: [gap] });
  }
  let taken = 0;
  return marks.map(({ place, left, ...mark }, at): GapMark => {
    const room = (marks[at + 1]?.left ?? width) - left;
    const before = Math.min(place - taken, WIDEST);
    const alone = mark.gaps.length === 1;
    if (alone && room < ROOM_FOR_SENTENCE && before >= ROOM_FOR_SENTENCE) {
      taken = place;
      return { ...mark, left: place - before, room: before, side: 'right' };
    }
    taken = left + (alone && room >= ROOM_FOR_SENTENCE ? room : CLOSEST);
    return { ...mark, left, room, side: 'left' };
  });
}

export const missingIn = (gaps: readonly SampleGap[]): number =>
  gaps.reduce((sum, gap) => sum + gap.missing, 0);

/** "3 missing", "2 gaps, 5 missing": as much as fits beside its neighbours. */
export const shortGap = (gaps: readonly SampleGap[]): string =>
  `${gaps.length > 1 ? `${formatCount(gaps.length)} gaps, ` : ''}${formatCount(missingIn(gaps))} missing`;

/** "3 samples missing, 2025-10-08 14:30 to 18:30; reason: gauge at calibration". */
export function gapSentence(gap: SampleGap, utcOffsetMinutes: number): string {
  const { missing, declared } = gap;
  const from = gap.before ?? gap.firstDueAt;
  const to = gap.after ?? gap.lastDueAt;
  const sameDay = formatDate(from, utcOffsetMinutes) === formatDate(to, utcOffsetMinutes);
  const until = sameDay ? formatTime(to, utcOffsetMinutes) : formatDateTime(to, utcOffsetMinutes);
  const reasons = [...new Set(declared.map(({ reason }) => reason.replace(/[.\s]+$/, '')))].join('; ');
  const silent = missing - declared.length;
  const why =
    declared.length === 0
      ? 'nobody has said why'
      : `reason: ${reasons}${silent > 0 ? ` (${formatCount(silent)} of them without a reason)` : ''}`;
  return `${formatCount(missing)} ${missing === 1 ? 'sample' : 'samples'} missing, ${formatDateTime(from, utcOffsetMinutes)} to ${until}; ${why}`;
}
