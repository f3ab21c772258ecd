import type { ComponentChildren, JSX } from 'preact';
import { cloneElement } from 'preact';
import { useId } from 'preact/hooks';

/** A label, a control, a hint, and what is wrong with it beside it, wired for screen readers. */
export function Field({
  label,
  hint,
  wrong,
  children,
}: {
  label: ComponentChildren;
  hint?: ComponentChildren;
  wrong?: string | null;
  children: JSX.Element;
}) {
  const id = useId();
  const described = [hint ? `${id}-hint` : '', wrong ? `${id}-wrong` : ''].filter(Boolean).join(' ');
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {cloneElement(children, {
        id,
        'aria-describedby': described || undefined,
        'aria-invalid': wrong ? 'true' : undefined,
      })}
      {hint && (
        <span class="hint" id={`${id}-hint`}>
          {hint}
        </span>
      )}
      {wrong && (
        <span class="wrong" id={`${id}-wrong`} role="alert">
          {wrong}
        </span>
      )}
    </div>
  );
}
