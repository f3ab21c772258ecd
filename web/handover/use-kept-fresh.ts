import { type Signal, useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { onChange } from '../live.ts';

/** Samples arrive in bursts; a list that somebody reads is fetched at most this often. */
const QUIET_MILLISECONDS = 2_000;

/** What a fetch gives, fetched anew whenever something changed. What somebody types is kept elsewhere. */
export function useKeptFresh<T>(fetchIt: () => Promise<T>): {
  readonly value: Signal<T | null>;
  readonly problem: Signal<Error | null>;
  readonly refresh: () => Promise<void>;
} {
  const value = useSignal<T | null>(null);
  const problem = useSignal<Error | null>(null);
  const refresh = (): Promise<void> =>
    fetchIt().then(
      (answer) => {
        value.value = answer;
        problem.value = null;
      },
      (error: Error) => {
        problem.value = error;
      },
    );
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | null = null;
    const soon = (): void => {
      timer ??= setTimeout(() => {
        timer = null;
        refresh();
      }, QUIET_MILLISECONDS);
    };
    refresh();
    const stop = onChange(soon);
    // Samples are missed without any message.
    const minute = setInterval(soon, 60_000);
    return () => {
      stop();
      clearInterval(minute);
      if (timer !== null) clearTimeout(timer);
    };
  }, []);
  return { value, problem, refresh };
}
