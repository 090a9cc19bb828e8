/** What a run page works out by itself: the stretch in view, what comes next, the curves' columns, refusals. */

import { describe, expect, it } from 'vitest';
import type { Target } from '../../daemon/run/model.ts';
import type { LiveRun } from '../../daemon/wire/bench.ts';
import { asksOf } from '../../dashboard/alarm/asks.ts';
import { curveData, curves, resistanceOhms, timesOf } from '../../dashboard/curves.ts';
import { markNear } from '../../dashboard/run/curve-overlay.ts';
import { nextSentence } from '../../dashboard/run/next.ts';
import {
  following,
  moved,
  stretchText,
  zoomed,
  type Course,
  type Move,
  type Zoom,
} from '../../dashboard/run/zoom.ts';
import { RunTrack } from '../../dashboard/run-track.ts';

const minuteMs = 60_000;

describe('the stretch in view', () => {
  it('is all there is, the end as it goes on, or one that stands', () => {
    expect(zoomed(null, 0, 1e6)).toBeNull();
    expect(zoomed({ lastMs: 10 * minuteMs }, 5_000, 60 * minuteMs)).toEqual([3_005, 3_605]);
    expect(zoomed({ lastMs: 60 * minuteMs }, 0, 10 * minuteMs)).toEqual([0, 600]);
    expect(zoomed({ fromMs: 1_000, toMs: 9_000 }, 0, 1e6)).toEqual([1, 9]);
  });

  it('is never too short to see', () => {
    const [from = 0, to = 0] = zoomed({ fromMs: 1_000, toMs: 1_001 }, 0, 1e6) ?? [];
    expect(to - from).toBeGreaterThanOrEqual(2);
  });
});

describe('a stretch that is moved without drawing over it', () => {
  const hourMs = 60 * minuteMs;
  const night: Course = { endMs: 9 * hourMs, fullMs: 9 * hourMs, anchorMs: null, live: true };
  const after = (zoom: Zoom, moves: readonly Move[], course: Course): Zoom =>
    moves.reduce((at, move) => moved(at, move, course).zoom, zoom);

  it('goes towards the reading line, or to where a replay stands', () => {
    const replay = { ...night, anchorMs: 2 * hourMs, live: false };
    expect(moved(null, 'closer', replay).zoom).toEqual({
      fromMs: 0.5 * hourMs,
      toMs: 3.5 * hourMs,
    });
    expect(after(null, ['closer', 'closer'], replay)).toEqual({
      fromMs: 1.5 * hourMs,
      toMs: 2.5 * hourMs,
    });
    // A line that was left out of view holds nothing back.
    expect(moved({ lastMs: hourMs }, 'closer', { ...night, anchorMs: hourMs }).zoom).toEqual({
      lastMs: hourMs / 3,
    });
    // One near the end is not shown with an empty half.
    expect(after(null, ['closer'], { ...replay, anchorMs: 8.9 * hourMs })).toEqual({
      fromMs: 6 * hourMs,
      toMs: 9 * hourMs,
    });
  });

  it('keeps to the newest while a run goes on and no line was left anywhere', () => {
    expect(after(null, ['closer', 'closer'], night)).toEqual({ lastMs: hourMs });
    expect(after({ lastMs: hourMs }, ['earlier'], night)).toEqual({
      fromMs: 7.5 * hourMs,
      toMs: 8.5 * hourMs,
    });
    expect(after({ lastMs: hourMs }, ['earlier', 'later'], night)).toEqual({ lastMs: hourMs });
  });

  it('opens again to the whole, and says where there is no more', () => {
    expect(after(null, ['closer', 'wider'], night)).toBeNull();
    expect(moved(null, 'wider', night).limit).toBe('whole');
    expect(moved(null, 'earlier', night).limit).toBe('whole');
    expect(moved({ fromMs: 0, toMs: hourMs }, 'earlier', night).limit).toBe('beginning');
    expect(moved({ fromMs: 8 * hourMs, toMs: 9 * hourMs }, 'later', night).limit).toBe('end');
    expect(moved({ fromMs: 0, toMs: 9000 }, 'closer', night)).toEqual({
      zoom: { fromMs: 0, toMs: 9000 },
      limit: 'closest',
    });
  });

  it('goes along with a replay that leaves it, and with none that it never showed', () => {
    const view = { fromMs: hourMs, toMs: 2 * hourMs };
    expect(following(view, 1.9 * hourMs, 2.1 * hourMs, night)).toEqual({
      fromMs: 2 * hourMs,
      toMs: 3 * hourMs,
    });
    expect(following(view, 5 * hourMs, 5.1 * hourMs, night)).toBe(view);
    expect(following(view, 1.1 * hourMs, 1.2 * hourMs, night)).toBe(view);
  });

  it('is told in words', () => {
    const startWallMs = new Date(2026, 0, 2, 22, 0).getTime();
    expect(stretchText(null, startWallMs)).toBe('Shown: all of it.');
    expect(stretchText({ lastMs: 10 * minuteMs }, startWallMs)).toBe('Shown: the last 10 min.');
    expect(stretchText({ fromMs: hourMs, toMs: 2 * hourMs }, startWallMs)).toBe(
      'Shown: 23:00 to 00:00, 1 h 00 min.',
    );
  });
});

describe('a reading line', () => {
  const mark = (atMs: number, message: string, grave = false) => ({ atMs, message, grave });
  const marks = [
    mark(100, 'Started.'),
    mark(100.5, 'Ramping.'),
    mark(104, 'Short.', true),
    mark(140, 'Lifted.'),
  ];
  /** The axis of ms shifted by ten pixels. */
  const at = (px: number) => markNear(marks, px, (atMs) => atMs + 10)?.message ?? null;

  it('stands at the event that is near: a grave one first, then the nearest, then the first', () => {
    expect(at(109)).toBe('Short.');
    expect(at(105), 'the grave one is too far').toBe('Started.');
    expect(at(120)).toBe('Short.');
    expect(at(121)).toBeNull();
    expect(at(150)).toBe('Lifted.');
    expect(markNear([mark(3, 'A.'), mark(1, 'B.')], 0, (atMs) => atMs)?.message).toBe('B.');
  });
});

describe('what comes next', () => {
  const stages = [
    { kind: 'strike', startAmpsPerDm2: 0.3, endAmpsPerDm2: 0.3, durationMs: 30 * minuteMs },
    { kind: 'ramp', startAmpsPerDm2: 0.3, endAmpsPerDm2: 1.5, durationMs: 20 * minuteMs },
    { kind: 'hold', startAmpsPerDm2: 1.5, endAmpsPerDm2: 1.5, durationMs: 0 },
  ] as const;
  const trickle = {
    kind: 'trickle',
    startAmpsPerDm2: 0.05,
    endAmpsPerDm2: 0.05,
    durationMs: 8 * 60 * minuteMs,
  } as const;
  const request = { target: { kind: 'thickness', micrometres: 200 } } as const;
  const run = (lifecycle: LiveRun['lifecycle']) =>
    ({ lifecycle, targetMicrometres: 200 }) as unknown as LiveRun;

  it.each([
    ['armed', 'Next: Start. Then a strike of 30 min.'],
    ['striking', 'Next: a ramp of 20 min up to 1.5 A/dm².'],
    ['ramping', 'Next: hold at 1.5 A/dm² until 200 µm.'],
    ['holding', 'Next: at 200 µm the output goes off by itself.'],
    ['lifted', 'Next: put it back, and the current rises again from low.'],
    ['trickling', 'Next: the output goes off by itself.'],
    ['finished', ''],
    ['tripped', ''],
  ] as const)('is told while %s', (lifecycle, sentence) => {
    // A number is never parted from its unit: that blank is another one.
    const told = nextSentence(run(lifecycle), { stages, request }).replaceAll('\u00a0', ' ');
    expect(told).toBe(sentence);
    // Without the plan nothing of it is told; what a lift waits for is known all the same.
    expect(nextSentence(run(lifecycle), null)).toBe(lifecycle === 'lifted' ? sentence : '');
  });

  it('names the trickle where there is one', () => {
    expect(nextSentence(run('holding'), { stages: [...stages, trickle], request })).toBe(
      'Next: at 200 µm a small current keeps the piece for up to 8 h 00 min.',
    );
  });

  const asked: readonly (readonly [Target, string])[] = [
    [{ kind: 'charge', ampHours: 0.6 }, '0.60 A·h (about 200 µm)'],
    [{ kind: 'mass', grams: 0.7 }, '0.711 g (about 200 µm)'],
    [{ kind: 'time', hours: 5 }, '5 h 30 min of current (about 200 µm)'],
    [
      { kind: 'done-by', goal: { kind: 'charge', ampHours: 0.6 }, localTime: '07:00' },
      '0.60 A·h (about 200 µm)',
    ],
    [{ kind: 'final-size', partIndex: 0, dimension: 'diameterMm', mm: 3 }, '200 µm'],
  ];

  it.each(asked)('names what the run stops by: %j', (target, text) => {
    const figures = { targetAmpHours: 0.6, ampHours: 0.3, massGrams: 0.3555 };
    const times = { poweredMs: 150 * minuteMs, remainingMs: 180 * minuteMs };
    const under = { ...run('holding'), ...figures, ...times };
    expect(nextSentence(under, { stages, request: { target } })).toBe(
      `Next: at ${text} the output goes off by itself.`,
    );
    const ramping = { ...under, lifecycle: 'ramping' } as const;
    expect(nextSentence(ramping, { stages, request: { target } })).toContain(`until ${text}.`);
  });
});

describe('the columns of the curves', () => {
  const track = new RunTrack('one');
  for (let atMs = 0; atMs <= 4_000; atMs += 1_000) {
    track.push({
      atMs,
      volts: 0.5,
      amps: atMs === 2_000 ? 0 : 0.25,
      setAmps: 0.25,
      ampHours: atMs / 1e6,
      thicknessMicrometres: atMs / 1_000,
      lifecycle: 'holding',
    });
  }
  const planned = {
    atMs: [0, 10_000],
    amps: [0.2, 0.3],
    ampHours: [0, 1],
    thicknessMicrometres: [0, 10],
  };
  const input = { series: track.series, startWallMs: 0, targetMicrometres: 10, planned };

  it('have one length on one axis, which goes on to the end of the plan', () => {
    const times = timesOf(input);
    expect(times.slice(0, 5)).toEqual(track.series.atMs);
    expect(times.at(-1)).toBeCloseTo(10_000, 6);
    for (const curve of curves) {
      for (const column of curveData(curve, input))
        expect(column, curve).toHaveLength(times.length);
    }
    expect(timesOf({ ...input, planned: null })).toEqual(track.series.atMs);
  });

  it('put the plan behind the measured, and nothing measured into the future', () => {
    const [, , , plan, , measured] = curveData('current', input);
    expect(plan?.[0]).toBeCloseTo(0.2, 9);
    expect(plan?.at(-1)).toBeCloseTo(0.3, 9);
    expect(measured?.at(-1)).toBeNull();
  });

  it('give no resistance without current', () => {
    expect(resistanceOhms(0.5, 0.25)).toBe(2);
    expect(resistanceOhms(0.5, 0)).toBeNull();
    expect(resistanceOhms(0.5, Number.NaN)).toBeNull();
    const [, ohms] = curveData('resistance', { ...input, planned: null });
    expect(ohms).toEqual([2, 2, null, 2, 2]);
  });
});

describe('a turn that is due', () => {
  it('asks like a note, once each time', () => {
    const tank = (isDue: boolean, missed = 0) =>
      ({
        name: 'One',
        output: 'on',
        alarms: [],
        run: {
          id: 'r',
          lifecycle: 'holding',
          turning: { everyMinutes: 30, dueInMs: 0, isDue, done: 1, missed },
        },
      }) as unknown as Parameters<typeof asksOf>[0][number];
    expect(asksOf([tank(false)], 0)).toEqual([]);
    const [first] = asksOf([tank(true)], 0);
    const [second] = asksOf([tank(true, 1)], 0);
    expect(first).toMatchObject({ sound: 'note', text: 'Turn the piece: it is due.' });
    expect(second?.key).not.toBe(first?.key);
  });
});
