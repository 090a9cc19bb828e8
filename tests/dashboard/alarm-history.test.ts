/** The history of the alarms on a page: read by pages, kept up with what is heard, in whatever order both come. */

import { afterEach, describe, expect, it, vi } from 'vitest';
import { AlarmHistory } from '../../dashboard/alarm/history.ts';
import type { Alarm } from '../../daemon/wire/run.ts';

afterEach(() => vi.unstubAllGlobals());

function alarm(id: number, more: Partial<Alarm> = {}): Alarm {
  return {
    id,
    runId: null,
    tankId: 'one',
    wallMs: 1_000 * id,
    priority: 'note',
    code: 'silence',
    found: 'found',
    cause: 'cause',
    remedy: 'remedy',
    acknowledgedWallMs: null,
    clearedWallMs: null,
    ...more,
  };
}

/** A log that answers when it is told to, with what it has at that moment. */
class Log {
  rows: Alarm[] = [];
  readonly asked: { readonly path: string; readonly answer: () => void }[] = [];
  failing = false;

  constructor() {
    vi.stubGlobal('fetch', (path: string) => {
      const { searchParams } = new URL(path, 'http://bench');
      const limit = Number(searchParams.get('limit'));
      const before = Number(searchParams.get('before') ?? Infinity);
      return new Promise((resolve) => {
        const answer = (): void => {
          const rows = this.rows.filter(({ id }) => id < before);
          const page = rows.toSorted((a, b) => b.id - a.id).slice(0, limit);
          const away = { type: '', detail: 'The log cannot be read.' };
          resolve(this.failing ? Response.json(away, { status: 503 }) : Response.json(page));
        };
        this.asked.push({ path, answer });
      });
    });
  }

  /** Answers the readings that come until this one is done. */
  async through<T>(reading: Promise<T>): Promise<T> {
    let over = false;
    const end = reading.finally(() => (over = true));
    end.catch(() => undefined);
    while (!over) {
      this.asked.shift()?.answer();
      await new Promise((resolve) => setTimeout(resolve));
    }
    return end;
  }
}

const ids = (history: AlarmHistory) => history.alarms?.map(({ id }) => id);
const upTo = (last: number, first = 1) =>
  Array.from({ length: last - first + 1 }, (_, index) => last - index);

async function opened(rows: number): Promise<{ log: Log; history: AlarmHistory }> {
  const log = new Log();
  log.rows = upTo(rows).map((id) => alarm(id));
  const history = new AlarmHistory(() => undefined);
  expect(history.alarms).toBeNull();
  await log.through(history.read());
  return { log, history };
}

describe('the history of the alarms', () => {
  it('is read by pages, the latest first, each once however often older ones are asked for', async () => {
    const { log, history } = await opened(50);
    expect(ids(history)).toEqual(upTo(50, 31));
    expect(history.more).toBe(true);
    await log.through(Promise.all([history.readOlder(), history.readOlder()]));
    expect(ids(history)).toEqual(upTo(50));
    expect(history.more).toBe(false);
  });

  it('has what is heard: a new one, the end of one, and none before the disk has it', async () => {
    const { history } = await opened(50);
    history.hear(alarm(51));
    history.hear(alarm(-7));
    history.hear(alarm(40, { clearedWallMs: 5 }));
    expect(ids(history)).toEqual(upTo(51, 31));
    expect(history.alarms?.find(({ id }) => id === 40)?.clearedWallMs).toBe(5);
  });

  it('takes one that lies behind what was read only once its page is read', async () => {
    const { log, history } = await opened(50);
    history.hear(alarm(3, { clearedWallMs: 5 }));
    expect(ids(history)).toEqual(upTo(50, 31));
    await log.through(history.readOlder());
    await log.through(history.readOlder());
    expect(ids(history)).toEqual(upTo(50));
    expect(history.alarms?.at(-3)?.clearedWallMs).toBe(5);
  });

  it('is read anew after a gap as far back as before, and what was heard before that is old', async () => {
    const { log, history } = await opened(50);
    await log.through(history.readOlder());
    history.hear(alarm(50, { acknowledgedWallMs: 1 }));
    log.rows = upTo(60).map((id) => alarm(id, { acknowledgedWallMs: 1, clearedWallMs: 2 }));
    await log.through(history.read());
    expect(ids(history)).toEqual(upTo(60, 21));
    expect(history.alarms?.every(({ clearedWallMs }) => clearedWallMs === 2)).toBe(true);
  });

  it('takes no acknowledgement back, though its end was written before it', async () => {
    const { history } = await opened(3);
    history.hear(alarm(3, { acknowledgedWallMs: 7 }));
    history.hear(alarm(3, { clearedWallMs: 6 }));
    expect(history.alarms?.[0]).toMatchObject({ acknowledgedWallMs: 7, clearedWallMs: 6 });
  });

  it('keeps what is heard while the log is read', async () => {
    const { log, history } = await opened(3);
    const reading = history.read();
    await vi.waitFor(() => expect(log.asked).toHaveLength(1), { timeout: 15_000 });
    history.hear(alarm(3, { clearedWallMs: 9 }));
    await log.through(reading);
    expect(history.alarms?.[0]?.clearedWallMs).toBe(9);
  });

  it('that cannot be read rejects, keeps what it had, and is read the next time', async () => {
    const { log, history } = await opened(3);
    log.failing = true;
    await expect(log.through(history.read())).rejects.toThrow('The log cannot be read.');
    expect(ids(history)).toEqual(upTo(3));
    log.failing = false;
    log.rows.push(alarm(4));
    await log.through(history.read());
    expect(ids(history)).toEqual(upTo(4));
  });
});
