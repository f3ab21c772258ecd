import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';

/** Squares that a camera reads: always dark on light, with a quiet zone of four around them (ISO/IEC 18004). */
const QUIET = 4;

/** What makes the squares is fetched when it is needed, which is about once in the life of a phone. */
export function QrPicture({ text, label }: { text: string; label: string }) {
  const rows = useSignal<readonly (readonly boolean[])[]>([]);
  useEffect(() => {
    import('qr').then(({ default: encodeQR }) => {
      rows.value = encodeQR(text, 'raw', { border: QUIET });
    });
  }, [text]);
  const squares = rows.value.flatMap((row, y) =>
    row.flatMap((dark, x) => (dark ? `M${x} ${y}h1v1h-1z` : [])),
  );
  return (
    <svg
      class="qr-picture"
      role="img"
      aria-label={label}
      viewBox={`0 0 ${rows.value.length} ${rows.value.length}`}
    >
      <rect width="100%" height="100%" fill="#fff" />
      <path d={squares.join('')} fill="#000" shape-rendering="crispEdges" />
    </svg>
  );
}
