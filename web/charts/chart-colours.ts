/** Everything a chart is painted with. Pure code receives it; only `readChartColours` looks at the page. */
export interface ChartColours {
  readonly ink: string;
  readonly inkSoft: string;
  readonly surface: string;
  readonly grid: string;
  readonly process: string;
  readonly processSoft: string;
  readonly drawing: string;
  /** Broad hatching, for what lies outside the specification. */
  readonly drawingHatch: string | CanvasPattern;
  readonly call: string;
  readonly focus: string;
  readonly font: string;
}

/** Reads the design tokens as they stand now, light or dark. */
export function readChartColours(element: Element): ChartColours {
  const style = getComputedStyle(element);
  const token = (name: string): string => style.getPropertyValue(name).trim();
  return {
    ink: token('--ink'),
    inkSoft: token('--ink-soft'),
    surface: token('--surface'),
    grid: token('--edge-soft'),
    process: token('--process'),
    processSoft: token('--process-soft'),
    drawing: token('--drawing'),
    drawingHatch: hatch(token('--drawing'), token('--drawing-soft')),
    call: token('--call'),
    focus: token('--focus'),
    font: token('--font'),
  };
}

function hatch(line: string, ground: string): string | CanvasPattern {
  const size = 12;
  const tile = document.createElement('canvas');
  tile.width = size;
  tile.height = size;
  const context = tile.getContext('2d');
  if (context === null) return ground;
  context.fillStyle = ground;
  context.fillRect(0, 0, size, size);
  context.strokeStyle = line;
  context.lineWidth = 2;
  context.beginPath();
  for (const shift of [-size, 0, size]) {
    context.moveTo(shift, size);
    context.lineTo(shift + size, 0);
  }
  context.stroke();
  return context.createPattern(tile, 'repeat') ?? ground;
}
