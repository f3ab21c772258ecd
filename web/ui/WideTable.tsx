import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';

/** A table that may be wider than the screen: it scrolls by itself, by keyboard too, and says that it does. */
export function WideTable({ label, children }: { label: string; children: ComponentChildren }) {
  const box = useRef<HTMLElement>(null);
  const [wider, setWider] = useState(false);
  useEffect(() => {
    const element = box.current!;
    const measure = () => setWider(element.scrollWidth > element.clientWidth);
    // It has no width while the section around it is folded.
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    for (const child of element.children) observer.observe(child);
    return () => observer.disconnect();
  }, []);
  return (
    <>
      {wider && (
        <p class="scroll-sign">
          <span aria-hidden="true">↔ </span>Wider than the screen: scroll the table sideways.
        </p>
      )}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a table wider than the screen scrolls by keyboard */}
      <section class={`scroll ${wider ? 'wider' : ''}`} ref={box} tabIndex={0} aria-label={label}>
        {children}
      </section>
    </>
  );
}
