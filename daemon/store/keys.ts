/** How a reading's place in its run becomes its key in the table. */

/** Room for the readings of one run; a thousand a second would take seven weeks to fill it. */
const keysPerRun = 2 ** 32;

/** The key of a run's reading number `sequence`, counted from 0. */
export function keyOf(runNumber: number, sequence: number): number {
  return runNumber * keysPerRun + sequence;
}

/** The sequence in its run that a key stands for. */
export function sequenceOf(key: number): number {
  return key % keysPerRun;
}

/** First and last possible key of a run, for `BETWEEN`. */
export function keyRange(runNumber: number): readonly [first: number, last: number] {
  return [runNumber * keysPerRun, runNumber * keysPerRun + keysPerRun - 1];
}
