export interface Minimum<Point> {
  readonly point: Point;
  readonly value: number;
  /** False where the step limit came first. */
  readonly converged: boolean;
}

/**
 * Point where f is least, by the simplex search of Nelder and Mead, started again from its answer until that no longer
 * helps. f may return Infinity outside its domain, but not at `start`. A smooth minimum is found to about 1e-8 of the
 * point's scale: the value is flat there.
 *
 * @param steps  first step along each coordinate, not 0.
 *
 * Source: J. A. Nelder and R. Mead, The Computer Journal 7 (1965) 308-313; coefficients that suit many dimensions
 * after F. Gao and L. Han, Computational Optimization and Applications 51 (2012) 259-277 (cited from memory).
 */
export function minimize(
  f: (point: readonly number[]) => number,
  start: readonly number[],
  steps: readonly number[],
): Minimum<readonly number[]> {
  let best = search(f, start, steps);
  for (let restart = 0; restart < 20 && best.value > -Infinity; restart++) {
    const size = 10 ** -(1 + (restart % 3));
    const again = search(
      f,
      best.point,
      steps.map(
        (step, i) => size * Math.sign(step) * Math.max(Math.abs(step), 1e-4 * Math.abs(best.point[i]!)),
      ),
    );
    const gain = best.value - again.value;
    const settled = !(gain > 1e-13 * Math.abs(best.value) + 1e-300);
    if (again.value <= best.value) best = again;
    if (settled && best.converged && restart >= 1) return best;
  }
  return { ...best, converged: false };
}

interface Vertex {
  readonly point: readonly number[];
  readonly value: number;
}

function search(
  f: (point: readonly number[]) => number,
  start: readonly number[],
  steps: readonly number[],
): Minimum<readonly number[]> {
  const size = start.length;
  const [expand, contract, shrink] = [1 + 2 / size, 0.75 - 1 / (2 * size), 1 - 1 / Math.max(2, size)];
  const vertex = (point: readonly number[]): Vertex => {
    const value = f(point);
    return { point, value: Number.isNaN(value) ? Infinity : value };
  };
  const vertices = [vertex(start), ...start.map((x, i) => vertex(start.with(i, x + steps[i]!)))];
  for (let step = 0; step < 500 * size; step++) {
    vertices.sort((a, b) => a.value - b.value);
    const best = vertices[0]!;
    const worst = vertices[size]!;
    if (best.value === -Infinity) return { ...best, converged: false };
    if (isSmall(vertices, steps)) return { ...best, converged: true };
    const centroid = start.map((_, i) => {
      let sum = 0;
      for (let k = 0; k < size; k++) sum += vertices[k]!.point[i]!;
      return sum / size;
    });
    const towards = (distance: number) =>
      vertex(centroid.map((x, i) => x + distance * (x - worst.point[i]!)));
    const reflected = towards(1);
    if (reflected.value < best.value) {
      const expanded = towards(expand);
      vertices[size] = expanded.value < reflected.value ? expanded : reflected;
    } else if (reflected.value < vertices[size - 1]!.value) vertices[size] = reflected;
    else {
      const contracted = towards(reflected.value < worst.value ? contract : -contract);
      if (contracted.value < Math.min(reflected.value, worst.value)) vertices[size] = contracted;
      else
        for (let k = 1; k <= size; k++)
          vertices[k] = vertex(
            vertices[k]!.point.map((x, i) => best.point[i]! + shrink * (x - best.point[i]!)),
          );
    }
  }
  vertices.sort((a, b) => a.value - b.value);
  return { ...vertices[0]!, converged: false };
}

/** All values equal to the last digits and all points within 1e-9 of a step. */
function isSmall(vertices: readonly Vertex[], steps: readonly number[]): boolean {
  const [best, worst] = [vertices[0]!, vertices.at(-1)!];
  if (worst.value - best.value > 4e-16 * Math.abs(best.value) + 1e-300) return false;
  return vertices.every(({ point }) =>
    point.every(
      (x, i) => Math.abs(x - best.point[i]!) <= 1e-6 * Math.abs(steps[i]!) + 1e-14 * Math.abs(best.point[i]!),
    ),
  );
}

/**
 * Point between `low` and `high` where f is least: golden section with parabolas where they help. Where f has several
 * minima it finds one of them.
 *
 * Source: R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 5.
 */
export function minimizeScalar(f: (x: number) => number, low: number, high: number): Minimum<number> {
  const golden = (3 - Math.sqrt(5)) / 2;
  let [a, b] = [low, high];
  let x = a + golden * (b - a);
  let [second, third] = [x, x];
  let fx = f(x);
  let [fSecond, fThird] = [fx, fx];
  let step = 0;
  let previous = 0;
  for (let count = 0; count < 200; count++) {
    const middle = (a + b) / 2;
    const tolerance = 1e-9 * Math.abs(x) + 1e-12 * (high - low) + Number.MIN_VALUE;
    if (Math.abs(x - middle) <= 2 * tolerance - (b - a) / 2) return { point: x, value: fx, converged: true };
    const r = (x - second) * (fx - fThird);
    const q0 = (x - third) * (fx - fSecond);
    const p = (x - third) * q0 - (x - second) * r;
    const q = 2 * (q0 - r);
    const parabola = -p / q;
    const usable =
      Math.abs(previous) > tolerance &&
      Math.abs(parabola) < Math.abs(previous / 2) &&
      x + parabola > a &&
      x + parabola < b;
    if (usable) {
      previous = step;
      step = parabola;
      if (x + step - a < 2 * tolerance || b - x - step < 2 * tolerance)
        step = Math.sign(middle - x) * tolerance;
    } else {
      previous = x < middle ? b - x : a - x;
      step = golden * previous;
    }
    const next = x + (Math.abs(step) >= tolerance ? step : Math.sign(step) * tolerance);
    const fNext = f(next);
    if (fNext <= fx) {
      if (next < x) b = x;
      else a = x;
      [third, fThird, second, fSecond, x, fx] = [second, fSecond, x, fx, next, fNext];
    } else {
      if (next < x) a = next;
      else b = next;
      if (fNext <= fSecond || second === x) [third, fThird, second, fSecond] = [second, fSecond, next, fNext];
      else if (fNext <= fThird || third === x || third === second) [third, fThird] = [next, fNext];
    }
  }
  return { point: x, value: fx, converged: false };
}
