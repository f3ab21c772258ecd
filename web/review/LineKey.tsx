import type { Study } from './study.ts';
import { chartNames } from './words.ts';

/** What the lines and marks of the control charts mean, and why the drawing's limits are not among them. */
export function LineKey({ study }: { study: Study }) {
  const { kind, limitsFrom } = study;
  const dash = limitsFrom === 'period' ? '7 5' : undefined;
  return (
    <>
      <ul class="line-key">
        <li>
          <svg width="36" height="14" aria-hidden="true">
            <path d="M0 7H36" stroke="var(--process)" stroke-width="2" stroke-dasharray={dash} />
          </svg>
          control limit{limitsFrom === 'period' && ', computed from this period, not frozen'}
        </li>
        <li>
          <svg width="36" height="14" aria-hidden="true">
            <path d="M0 7H36" stroke="var(--ink-soft)" stroke-width="1" stroke-dasharray={dash} />
          </svg>
          center line
        </li>
        <li>
          <svg width="18" height="18" aria-hidden="true">
            <path d="M9 3l6 6-6 6-6-6z" fill="var(--call)" />
          </svg>
          outside the control limits
        </li>
        <li>
          <svg width="20" height="20" aria-hidden="true">
            <circle cx="10" cy="10" r="7" fill="none" stroke="var(--call)" stroke-width="2" />
          </svg>
          signal, with its number in the list
        </li>
        <li>
          <svg width="22" height="22" aria-hidden="true">
            <path d="M3 3h16v16h-16z" fill="none" stroke="var(--focus)" stroke-width="3" />
          </svg>
          chosen point
        </li>
      </ul>
      <p class="chart-note">
        {kind === 'individuals-moving-range'
          ? 'Control limits are what the process does by itself. What the drawing asks is shown with the distribution below.'
          : `The specification (drawing) is not drawn here: it holds for single parts, and these points are ${chartNames[kind].locationValue}s of several.`}
      </p>
    </>
  );
}
