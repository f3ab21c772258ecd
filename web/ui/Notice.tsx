import type { ComponentChildren } from 'preact';

const marks = { fine: '✓', ask: '?', call: '▲', quiet: '·' } as const;

/** A message with a mark, a word and a colour. */
export function Notice({
  kind,
  title,
  live = 'polite',
  children,
}: {
  kind: keyof typeof marks;
  title: string;
  /** 'assertive' interrupts a screen reader: only for what cannot wait. */
  live?: 'polite' | 'assertive';
  children?: ComponentChildren;
}) {
  return (
    <div class={`notice ${kind}`} role={live === 'assertive' ? 'alert' : 'status'}>
      <p>
        <span aria-hidden="true">{marks[kind]} </span>
        <strong>{title}</strong>
      </p>
      {children !== undefined && <div>{children}</div>}
    </div>
  );
}
