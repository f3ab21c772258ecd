/** The only source of "now" in the API, so that tests and the demo plant set their own. Epoch milliseconds. */
export interface Clock {
  now(): number;
}

export const systemClock: Clock = { now: () => Date.now() };

/** A clock that starts at another moment and then runs on as usual. */
export const clockStartingAt = (start: number): Clock => {
  const offset = start - Date.now();
  return { now: () => Date.now() + offset };
};
