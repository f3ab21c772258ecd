/** A lower bound with two decimals, never shown higher than it is. */
export const roundedDown = (bound: number): string => (Math.floor(bound * 100 + 1e-9) / 100).toFixed(2);

/** An upper bound with two decimals, never shown lower than it is. */
export const roundedUp = (bound: number): string => (Math.ceil(bound * 100 - 1e-9) / 100).toFixed(2);
