/** Small seeded random streams, one per subsystem, so that using one never shifts another. */

export interface RandomStream {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Normal with mean 0 and standard deviation 1. */
  normal(): number;
  /** A whole number from 0 to `below` - 1. */
  whole(below: number): number;
}

/** FNV-1a over the name, mixed with the seed, so that streams of one seed are unrelated. */
function hashOf(seed: number, name: string): number {
  let hash = (2166136261 ^ seed) >>> 0;
  for (let index = 0; index < name.length; index += 1) {
    hash = Math.imul(hash ^ name.charCodeAt(index), 16777619) >>> 0;
  }
  return hash;
}

/** The splitmix32 generator: 32 bits of state, good enough for noise and faults. */
export function createRandomStream(seed: number, name: string): RandomStream {
  let state = hashOf(seed >>> 0, name);
  let spare: number | null = null;

  function uniform(): number {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = state ^ (state >>> 16);
    mixed = Math.imul(mixed, 0x21f0aaad);
    mixed ^= mixed >>> 15;
    mixed = Math.imul(mixed, 0x735a2d97);
    mixed ^= mixed >>> 15;
    return (mixed >>> 0) / 4294967296;
  }

  function normal(): number {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    // Box-Muller makes two values at a time; 1 - u keeps the logarithm finite.
    const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  }

  return { uniform, normal, whole: (below) => Math.floor(uniform() * below) };
}
