import { type JohnsonLikelihood, type JohnsonScale, johnsonLikelihood } from './johnson-likelihood.ts';

interface JohnsonPeak extends JohnsonLikelihood {
  readonly p: number;
  readonly q: number;
}

type Reach = readonly [lowest: number, highest: number];

/** Values that decide where the climbs begin; the climbs end on all of them. */
const scouts = 300;
const climbs = 4;

/**
 * The largest peak of the profile likelihood inside a rectangle: a coarse grid finds hills, damped Newton steps climb
 * them. At the edges the likelihood may grow without bound or level off towards a simpler distribution; that is no peak.
 *
 * @param gridP  ascending places of p where a climb may start; likewise gridQ.
 * @returns      null where no climb ends on a peak inside.
 */
export function johnsonPeak(
  sorted: Float64Array,
  scale: JohnsonScale,
  gridP: readonly number[],
  gridQ: readonly number[],
  reachP: Reach,
  reachQ: Reach,
): JohnsonPeak | null {
  const few = thinned(sorted);
  let best: JohnsonPeak | null = null;
  const tried: JohnsonPeak[] = [];
  for (const [p, q] of hills(few, scale, gridP, gridQ)) {
    const rough = climb(few, scale, p, q, reachP, reachQ);
    if (rough === null || tried.some((peak) => Math.hypot(peak.p - rough.p, peak.q - rough.q) < 1e-3))
      continue;
    tried.push(rough);
    const peak = few === sorted ? rough : climb(sorted, scale, rough.p, rough.q, reachP, reachQ);
    if (peak !== null && (best === null || peak.value > best.value)) best = peak;
  }
  return best;
}

/** Evenly spaced members of a long sample, the first and the last among them. */
function thinned(sorted: Float64Array): Float64Array {
  const n = sorted.length;
  if (n <= scouts) return sorted;
  return Float64Array.from({ length: scouts }, (_, k) => sorted[Math.round((k * (n - 1)) / (scouts - 1))]!);
}

/** Grid points that stand above their neighbours, highest first. */
function hills(
  values: Float64Array,
  scale: JohnsonScale,
  gridP: readonly number[],
  gridQ: readonly number[],
): readonly (readonly [number, number])[] {
  const heights = gridP.map((p) => gridQ.map((q) => johnsonLikelihood(values, scale, p, q).value));
  const found: { readonly height: number; readonly place: readonly [number, number] }[] = [];
  heights.forEach((row, i) => {
    row.forEach((height, j) => {
      for (let di = -1; di <= 1; di++)
        for (let dj = -1; dj <= 1; dj++) if ((heights[i + di]?.[j + dj] ?? -Infinity) > height) return;
      found.push({ height, place: [gridP[i]!, gridQ[j]!] });
    });
  });
  return found
    .sort((a, b) => b.height - a.height)
    .slice(0, climbs)
    .map(({ place }) => place);
}

function climb(
  values: Float64Array,
  scale: JohnsonScale,
  startP: number,
  startQ: number,
  reachP: Reach,
  reachQ: Reach,
): JohnsonPeak | null {
  let here: JohnsonPeak = { p: startP, q: startQ, ...johnsonLikelihood(values, scale, startP, startQ) };
  let damping = 0;
  for (let step = 0; step < 150; step++) {
    const [gp, gq] = here.gradient;
    const [pp, pq, qq] = here.curvature;
    // Enough damping that the curved surface of the step is a hill.
    const gap = Math.hypot(pp - qq, 2 * pq);
    const top = (pp + qq + gap) / 2;
    const isHill = top < 0;
    const lift = Math.max(damping, isHill ? 0 : top + 0.1 * (gap + Math.abs(top)) + 1e-6);
    const [a, b, c] = [pp - lift, pq, qq - lift];
    const determinant = a * c - b * b;
    let moveP = (b * gq - c * gp) / determinant;
    let moveQ = (b * gp - a * gq) / determinant;
    const length = Math.hypot(moveP, moveQ);
    if (!Number.isFinite(length)) return null;
    if (length > 1) {
      moveP /= length;
      moveQ /= length;
    }
    // What the step promises to gain, in mean log-likelihood.
    const promise = (moveP * gp + moveQ * gq) / 2;
    const p = here.p + moveP;
    const q = here.q + moveQ;
    if (!(p > reachP[0] && p < reachP[1] && q > reachQ[0] && q < reachQ[1])) return null;
    const there = { p, q, ...johnsonLikelihood(values, scale, p, q) };
    // Close to the peak the value is level to rounding, and the slope says better where it is.
    const isClose = isHill && promise < 1e-11 && length < 0.01;
    if (isClose && !(Math.hypot(...there.gradient) < Math.hypot(gp, gq))) return here;
    if (isClose || there.value > here.value) {
      here = there;
      damping = isClose || damping < 1e-9 ? 0 : damping / 8;
    } else damping = Math.max(damping * 6, Math.abs(top) * 0.3 + 1e-8);
  }
  return null;
}
