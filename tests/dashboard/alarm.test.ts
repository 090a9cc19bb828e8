/** What asks for a person on a device, how it sounds, and that it grows until it is answered. */

import { describe, expect, it } from 'vitest';
import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import type { Alarm } from '../../daemon/wire/run.ts';
import { asksOf, awayAfterMs } from '../../dashboard/alarm/asks.ts';
import {
  lengthMsOf,
  loudnessAt,
  pauseMsAt,
  tonesOf,
  type Sound,
} from '../../dashboard/alarm/pattern.ts';
import { screenObstacle } from '../../dashboard/night/screen-lock.ts';

const sounds: readonly Sound[] = ['stopped', 'act-soon', 'note', 'away'];
const minuteMs = 60_000;

describe('how an alarm sounds', () => {
  it('tells each priority apart by its rhythm alone, for an ear that is bad at pitch', () => {
    const rhythms = sounds.map((sound) =>
      tonesOf(sound)
        .map(({ atMs, lengthMs }) => `${atMs}+${lengthMs}`)
        .join(' '),
    );
    expect(new Set(rhythms).size).toBe(sounds.length);
  });

  it('never lets a tone begin before the one before it has ended', () => {
    for (const sound of sounds) {
      let endMs = 0;
      for (const { atMs, lengthMs } of tonesOf(sound)) {
        expect(atMs, sound).toBeGreaterThanOrEqual(endMs);
        endMs = atMs + lengthMs;
      }
      expect(lengthMsOf(sound)).toBe(endMs);
      expect(pauseMsAt(sound, 1e9), `${sound} does not overlap itself`).toBeGreaterThan(endMs);
    }
  });

  it('grows louder and sooner the longer nobody answers, and never past full loudness', () => {
    for (const sound of sounds) {
      const ages = Array.from({ length: 30 }, (_, index) => index * minuteMs * 0.5);
      for (const [index, age] of ages.entries()) {
        const before = ages[index - 1] ?? age;
        expect(loudnessAt(sound, age)).toBeGreaterThanOrEqual(loudnessAt(sound, before));
        expect(loudnessAt(sound, age)).toBeLessThanOrEqual(1);
        expect(pauseMsAt(sound, age)).toBeLessThanOrEqual(pauseMsAt(sound, before));
      }
      expect(loudnessAt(sound, 1e9), sound).toBeGreaterThan(loudnessAt(sound, 0));
    }
  });

  it('is the more insistent the graver it is', () => {
    for (const age of [0, minuteMs, 10 * minuteMs]) {
      expect(pauseMsAt('stopped', age)).toBeLessThan(pauseMsAt('act-soon', age));
      expect(pauseMsAt('act-soon', age)).toBeLessThan(pauseMsAt('note', age));
      expect(loudnessAt('stopped', age)).toBeGreaterThan(loudnessAt('act-soon', age));
    }
  });
});

function alarm(id: number, priority: Alarm['priority'], acknowledgedWallMs: number | null = null) {
  return { id, priority, wallMs: id, found: `found ${id}`, acknowledgedWallMs };
}

function tank(name: string, output: TankSnapshot['output'], alarms: readonly object[] = []) {
  return { name, output, alarms } as unknown as TankSnapshot;
}

describe('what asks for a person', () => {
  it('puts the gravest first, whatever tank it is on', () => {
    const tanks = [
      tank('One', 'on', [alarm(1, 'note'), alarm(2, 'act-soon')]),
      tank('Two', 'confirmedOff', [alarm(3, 'stopped')]),
    ];
    expect(asksOf(tanks, 0).map(({ sound, tank: name }) => `${sound} ${name}`)).toEqual([
      'stopped Two',
      'act-soon One',
      'note One',
    ]);
  });

  it('says nothing of what is acknowledged', () => {
    expect(asksOf([tank('One', 'on', [alarm(1, 'stopped', 5)])], 0)).toEqual([]);
  });

  it('stays one thing while the disk gives it its number', () => {
    const shown = { ...alarm(-1, 'stopped'), found: 'A short.' };
    const again = { ...alarm(-1, 'stopped'), found: 'A short.' };
    const [first] = asksOf([tank('One', 'on', [shown])], 0);
    const [second] = asksOf([tank('One', 'on', [again])], 0);
    expect(first?.key).toBe(second?.key);
  });

  it('calls for a bench out of reach, but only where current may flow, and not at once', () => {
    const on = [tank('One', 'on')];
    expect(asksOf(on, awayAfterMs - 1)).toEqual([]);
    expect(asksOf(on, awayAfterMs).map(({ sound }) => sound)).toEqual(['away']);
    expect(asksOf([tank('One', 'confirmedOff')], 10 * awayAfterMs)).toEqual([]);
    expect(asksOf([tank('One', 'unknown')], awayAfterMs)).toHaveLength(1);
  });
});

describe('a screen that stays on', () => {
  it('says whether it is the address or the browser that stands in the way', () => {
    expect(screenObstacle(true, true)).toBeNull();
    expect(screenObstacle(true, false)).toBe('browser');
    expect(screenObstacle(false, false)).toBe('address');
  });
});
