/** The clock of a replay: it plays, stops, jumps and changes speed without losing its place. */

import { describe, expect, it } from 'vitest';
import {
  atEnd,
  atSpeed,
  pause,
  play,
  positionAt,
  replayOf,
  replaySpeeds,
  seek,
} from '../../dashboard/replay-clock.ts';

const nightMs = 8 * 3_600_000;

describe('a replay clock', () => {
  it('stands still until it is played', () => {
    expect(positionAt(replayOf(nightMs), 1e9)).toBe(0);
  });

  it('runs at its speed and stops at the end', () => {
    const playing = play(atSpeed(replayOf(nightMs), 3600, 0), 1000);
    expect(positionAt(playing, 3000)).toBe(2000 * 3600);
    expect(atEnd(playing, 3000)).toBe(false);
    expect(positionAt(playing, 60_000)).toBe(nightMs);
    expect(atEnd(playing, 60_000)).toBe(true);
  });

  it('keeps its place when its speed is changed or it is paused', () => {
    const playing = play(atSpeed(replayOf(nightMs), 60, 0), 0);
    const faster = atSpeed(playing, 3600, 10_000);
    expect(positionAt(faster, 10_000)).toBe(600_000);
    expect(positionAt(faster, 11_000)).toBe(600_000 + 3_600_000);
    const paused = pause(faster, 11_000);
    expect(positionAt(paused, 99_000)).toBe(4_200_000);
  });

  it('jumps inside the run only, and goes on playing from there', () => {
    const playing = play(replayOf(nightMs), 0);
    expect(positionAt(seek(playing, -5, 100), 100)).toBe(0);
    expect(positionAt(seek(playing, nightMs * 2, 100), 100)).toBe(nightMs);
    expect(positionAt(seek(playing, 5000, 100), 101)).toBe(5000 + playing.speed);
  });

  it('starts over when it is played from the end', () => {
    const ended = seek(replayOf(nightMs), nightMs, 0);
    expect(positionAt(play(ended, 50), 50)).toBe(0);
  });

  it('offers an hour in a second', () => {
    expect(Math.max(...replaySpeeds)).toBe(3600);
  });
});
