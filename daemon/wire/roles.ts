/** The three roles, and which of them is enough for what. */

/** From the least to the most: look on, look on and switch off, everything. */
export const roles = ['view', 'stop', 'control'] as const;
export type Role = (typeof roles)[number];

/** True where what is held is enough for what is needed. */
export function covers(held: Role | null, needed: Role): boolean {
  return held !== null && roles.indexOf(held) >= roles.indexOf(needed);
}
