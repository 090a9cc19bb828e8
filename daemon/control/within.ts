/** Ends a wait that may never end by itself. */

/** The promise's value, or the other one when it takes too long, by the wall. */
export async function within<T, U>(
  promise: Promise<T>,
  durationMs: number,
  late: U,
): Promise<T | U> {
  let timer: NodeJS.Timeout | undefined;
  const bound = new Promise<U>((resolve) => {
    timer = setTimeout(() => resolve(late), durationMs);
  });
  try {
    return await Promise.race([promise, bound]);
  } finally {
    clearTimeout(timer);
  }
}
