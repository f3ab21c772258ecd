import {
  BarController,
  BarElement,
  Chart,
  type ChartConfiguration,
  type ChartType,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
} from 'chart.js';
import annotation from 'chartjs-plugin-annotation';
import { useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks';
import { type ChartColours, readChartColours } from './chart-colours.ts';
import { signalNumbers } from './signal-numbers.ts';

Chart.register(
  BarController,
  BarElement,
  LineController,
  LineElement,
  LinearScale,
  PointElement,
  annotation,
  signalNumbers,
);

/** What a chart is drawn for: the room that the page gives it, and the colours of the hour. */
export interface Surroundings {
  readonly width: number;
  readonly height: number;
  readonly colours: ChartColours;
}

/** A canvas that follows its room, and light and dark, and is described in words for those who do not see it. */
export function ChartCanvas<T extends ChartType>({
  description,
  height,
  configuration,
  onDrawn,
}: {
  description: string;
  height: number;
  configuration: (surroundings: Surroundings) => ChartConfiguration<T, { x: number; y: number }[]>;
  onDrawn?: (chart: Chart) => void;
}) {
  const frame = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const chart = useRef<Chart | null>(null);
  const [width, setWidth] = useState(0);
  const [colours, setColours] = useState<ChartColours | null>(null);

  useEffect(() => {
    const element = frame.current!;
    const measure = new ResizeObserver(() => setWidth(Math.floor(element.clientWidth)));
    measure.observe(element);
    const dark = matchMedia('(prefers-color-scheme: dark)');
    const repaint = () => setColours(readChartColours(element));
    repaint();
    dark.addEventListener('change', repaint);
    return () => {
      measure.disconnect();
      dark.removeEventListener('change', repaint);
      chart.current?.destroy();
      chart.current = null;
    };
  }, []);

  useLayoutEffect(() => {
    if (width === 0 || colours === null) return;
    const next = configuration({ width, height, colours }) as unknown as ChartConfiguration;
    if (chart.current === null) {
      chart.current = new Chart(canvas.current!, next);
    } else {
      chart.current.data = next.data;
      chart.current.options = next.options ?? {};
    }
    if (chart.current.width !== width || chart.current.height !== height) chart.current.resize(width, height);
    chart.current.update('none');
    onDrawn?.(chart.current);
  });

  return (
    <div ref={frame} class="chart-canvas" style={{ height: `${height}px` }}>
      <canvas ref={canvas} role="img" aria-label={description} />
    </div>
  );
}
