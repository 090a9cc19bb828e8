/** Ends a wait on the operating system that may never end by itself. */

/**
 * Settles as the promise does, or rejects with `late()` after `timeoutMs` of wall time. The
 * abandoned promise may still settle; nobody listens then.
 */
export function withDeadline<T>(
  promise: Promise<T>,
  timeoutMs: number,
  late: () => Error,
): Promise<T> {
  return new Promise<T>((resolve, reject) => {
    const timer = setTimeout(() => reject(late()), timeoutMs);
    promise.then(
      (value) => {
        clearTimeout(timer);
        resolve(value);
      },
      (error: unknown) => {
        clearTimeout(timer);
        reject(error instanceof Error ? error : new Error(String(error)));
      },
    );
  });
}
