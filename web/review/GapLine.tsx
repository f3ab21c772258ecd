import type { SampleGap } from '../../api/schemas.ts';
import type { VisibleRange } from '../charts/visible-range.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { gapMarks, gapSentence, ROOM_FOR_SENTENCE, shortGap } from './gap-line.ts';

/** More sentences than this nobody hears to the end. */
const MOST_SENTENCES = 4;

/** Where planned samples are missing, in words under the points between which they should stand. */
export function GapLine({
  gaps,
  times,
  range,
  width,
  choose,
}: {
  gaps: readonly SampleGap[];
  times: readonly number[];
  range: VisibleRange;
  width: number;
  choose: (index: number) => void;
}) {
  const marks = gapMarks(gaps, times, range, width);
  if (marks.length === 0) return null;
  const sentences = (some: readonly SampleGap[], separator: string): string =>
    some.length > MOST_SENTENCES
      ? `${shortGap(some)}. Zoom in to see each.`
      : some.map((gap) => gapSentence(gap, utcOffsetMinutes.value)).join(separator);
  return (
    <ul class="gap-line" aria-label="Missing samples on the time line">
      {marks.map((mark) => {
        const full = mark.gaps.length === 1 && mark.room >= ROOM_FOR_SENTENCE;
        const [gap] = mark.gaps;
        return (
          <li
            key={gap!.firstDueAt}
            class={mark.side}
            style={{ left: `${mark.left}px`, width: `${mark.room}px` }}
          >
            <button type="button" title={sentences(mark.gaps, '\n')} onClick={() => choose(mark.index)}>
              {full ? (
                gapSentence(gap!, utcOffsetMinutes.value)
              ) : (
                <>
                  <span aria-hidden="true">{shortGap(mark.gaps)}</span>
                  <span class="visually-hidden">{sentences(mark.gaps, '; ')}</span>
                </>
              )}
            </button>
          </li>
        );
      })}
    </ul>
  );
}
