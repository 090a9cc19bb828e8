/** What messages say: what happened, what it means, what to do, and how far the piece had come. */

import { describe, expect, it } from 'vitest';
import { digestOf, letterOf } from '../../daemon/alerts/letter.ts';
import {
  alarmMessage,
  runEndMessage,
  testMessage,
  turnMessage,
  type Scene,
} from '../../daemon/alerts/wording.ts';
import { faultOf, faultWords } from '../../daemon/run/faults.ts';
import { faultCodes } from '../../daemon/run/model.ts';
import { alertMessageSchema } from '../../daemon/wire/alerts.ts';

const wallMs = new Date(2026, 0, 10, 2, 14).getTime();
const scene: Scene = {
  tankId: 'beaker',
  tankName: 'Beaker by the window',
  simulated: false,
  tankWallMs: wallMs,
  wallMs,
  run: {
    pieceName: 'Seed head',
    startedWallMs: wallMs - 3_600_000,
    thicknessMicrometres: 182.4,
    targetMicrometres: 500,
    ampHours: 2.408,
  },
};
const fault = faultOf('openCircuit', 0, '0.000 A at 5.9 V.');
const alarm = { ...fault, priority: 'stopped' } as const;

describe('an alarm outside', () => {
  it('says where, when, what, why and what to do, and that it goes on', () => {
    const message = alarmMessage('alarm-1', scene, alarm, true);
    expect(message.title).toBe('Open circuit: Beaker by the window');
    expect(message.text.split('\n')).toEqual([
      '02:14, Beaker by the window.',
      'The run was stopped and OFF was sent to the supply.',
      'Found: 0.000 A at 5.9 V.',
      `What it means: ${fault.cause}`,
      `What to do: ${fault.remedy}`,
      'Seed head: 0.182 mm of 0.500 mm, 2.41 A·h.',
      'It is said again until somebody acknowledges it on the page.',
    ]);
  });

  it('fits the wire for every fault, whatever the tank is called', () => {
    for (const code of faultCodes) {
      const odd = { ...scene, tankName: `Tank\n${'x'.repeat(300)}`, run: null };
      const message = alarmMessage(
        'alarm-1',
        odd,
        { ...faultOf(code, 0, 'x'), priority: 'note' },
        false,
      );
      expect(alertMessageSchema.safeParse(message).success, code).toBe(true);
      expect(message.title).not.toContain('\n');
      expect(message.text).toContain(faultWords[code].remedy);
    }
  });

  it('says so where nothing is real', () => {
    expect(alarmMessage('alarm-1', { ...scene, simulated: true }, alarm, true).title).toBe(
      'Simulated: Open circuit: Beaker by the window',
    );
  });
});

describe('the end of a run', () => {
  it('is told when it went well, calmly', () => {
    const outcome = { end: 'reached', reason: 'The target was reached.', faultCode: null } as const;
    const message = runEndMessage('end-1', scene, outcome, false);
    expect(message).toMatchObject({ priority: 'note', title: 'Finished: Beaker by the window' });
    expect(message.text).toContain('The target was reached.');
    expect(message.text).toContain('0.182 mm of 0.500 mm');
  });

  it('is graver where nobody asked for it', () => {
    const outcome = {
      end: 'stopped',
      reason: 'Lifted out and not put back.',
      faultCode: null,
    } as const;
    expect(runEndMessage('end-1', scene, outcome, false).priority).toBe('act-soon');
    expect(runEndMessage('end-1', scene, outcome, true).priority).toBe('note');
  });
});

describe('a turn that is due', () => {
  it('is good to know and no alarm, and says when it was the last reminder', () => {
    const first = turnMessage('turn-1', scene, { inARow: 1, most: 3 });
    expect(alertMessageSchema.parse(first)).toMatchObject({
      kind: 'turn',
      priority: 'note',
      title: 'Turn the piece: Beaker by the window',
    });
    expect(first.text.split('\n')).toEqual([
      '02:14, Beaker by the window.',
      'It is time to turn the piece, for even growth. Nothing is wrong.',
      'Seed head: 0.182 mm of 0.500 mm, 2.41 A·h.',
      'Press Turned on the page once it is done.',
    ]);
    const last = turnMessage('turn-3', scene, { inARow: 3, most: 3 });
    expect(last.text).toContain('the last of 3 reminders in a row');
  });
});

describe('a letter', () => {
  const message = alarmMessage('alarm-1', scene, alarm, true);

  it('bears its id, and says that it is a repeat', () => {
    expect(letterOf(message, 0, wallMs).text.split('\n').at(-1)).toBe('Message alarm-1');
    const again = letterOf(message, 2, wallMs + 300_000);
    expect(again).toMatchObject({ id: 'alarm-1', saying: 2, title: `Still: ${message.title}` });
    expect(again.text).toContain('said for the first time at 02:14');
  });

  it('of another day names the day', () => {
    expect(letterOf(message, 0, wallMs + 26 * 3_600_000).text).toContain(
      'it is of 2026-01-10 02:14',
    );
  });

  it('of many lists them, the earliest first, with the gravest priority of them', () => {
    const soon = {
      ...message,
      id: 'b',
      priority: 'act-soon',
      createdWallMs: wallMs - 60_000,
    } as const;
    const note = { ...message, id: 'a', priority: 'note', title: 'Finished' } as const;
    const digest = digestOf([note, soon], wallMs);
    expect(digest).toMatchObject({ id: 'b-and-1', priority: 'act-soon' });
    expect(digest.text.split('\n').slice(0, 2)).toEqual([
      '02:13 Open circuit: Beaker by the window (b)',
      '02:14 Finished (a)',
    ]);
  });

  it('of a test holds the code', () => {
    const test = testMessage('test-1', 'phone', '4711', wallMs);
    expect(test.title).toContain('4711');
    expect(letterOf(test, 0, wallMs).text).toContain('type the code 4711');
  });
});
