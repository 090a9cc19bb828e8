/** Undo and redo of the Plan page: one way back for all of it, bounded, and kept across reloads. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import { draftFrom, draftOf, newDraft, type Draft } from '../../dashboard/plan-draft.ts';
import { History, mostSteps } from '../../dashboard/plan-history.ts';

interface Note {
  readonly text: string;
}

const read = (stored: unknown): Note => stored as Note;
const note = (text: string): Note => ({ text });

describe('a history', () => {
  it('goes back and forth and names what it takes back', () => {
    const history = new History(note('a'));
    expect([history.undoes, history.redoes]).toEqual([null, null]);
    history.record(note('b'), 'Stop at');
    history.record(note('c'), 'Tank');
    expect(history.undoes).toBe('Tank');
    expect(history.undo()).toEqual(note('b'));
    expect([history.undoes, history.redoes]).toEqual(['Stop at', 'Tank']);
    expect(history.redo()).toEqual(note('c'));
    expect(history.redo()).toBeNull();
    history.undo();
    history.record(note('d'), 'Bath');
    expect(history.redoes, 'a new edit leaves nothing to do again').toBeNull();
    expect(history.now).toEqual(note('d'));
  });

  it('takes typing in one entry as one edit until it rests or goes elsewhere', () => {
    const history = new History(note(''));
    history.record(note('1'), 'Stop at', 'amount', 0);
    history.record(note('15'), 'Stop at', 'amount', 800);
    history.record(note('15x'), 'Density', 'density', 900);
    history.record(note('15xy'), 'Density', 'density', 5000);
    expect(history.undo()).toEqual(note('15x'));
    expect(history.undo()).toEqual(note('15'));
    expect(history.undo()).toEqual(note(''));
    expect(history.undo()).toBeNull();
  });

  it('takes in what nobody edited without a step of its own', () => {
    const history = new History(note('a'));
    history.record(note('b'), 'Stop at');
    history.replace(note('b, with a tank'));
    expect(history.undo()).toEqual(note('a'));
    expect(history.redo()).toEqual(note('b, with a tank'));
  });

  it('holds a bounded number of edits', () => {
    const history = new History(note('0'));
    for (let step = 1; step <= mostSteps + 5; step += 1) history.record(note(`${step}`), 'x');
    let undone = 0;
    while (history.undo()) undone += 1;
    expect(undone).toBe(mostSteps);
    expect(history.now).toEqual(note('5'));
  });

  it('is kept across a reload, and begins anew beside another state or nonsense', () => {
    const history = new History(note('a'));
    history.record(note('b'), 'Stop at');
    history.record(note('c'), 'Tank');
    history.undo();
    const again = History.from(history.toText(), note('b'), read);
    expect([again.undoes, again.redoes]).toEqual(['Stop at', 'Tank']);
    expect(again.undo()).toEqual(note('a'));
    for (const text of [null, '', '{', 'null', '7', '{"past":7,"now":{"text":"b"}}']) {
      expect(History.from(text, note('b'), read).undoes).toBeNull();
    }
    expect(History.from(history.toText(), note('other'), read).undoes).toBeNull();
  });

  it('of drafts made from a run goes on after a reload, whatever the order of their entries', () => {
    const stored = (draft: unknown): Draft => draftFrom(JSON.stringify(draft));
    const opened = draftOf(demoPlanRequest('beaker', 'acid-copper-still'));
    const history = new History<Draft>(newDraft());
    history.record(opened, 'open Teasel head');
    const again = History.from(history.toText(), draftFrom(JSON.stringify(opened)), stored);
    expect(again.undoes).toBe('open Teasel head');
  });

  it('leads back to a state of elsewhere that an edit takes the place of', () => {
    const history = new History(note('mine'));
    history.record(note('mine, 1'), 'Stop at', 'amount', 0);
    history.shelve(note('theirs'), 'the other tab');
    history.record(note('mine, 12'), 'Stop at', 'amount', 100);
    expect(history.undo()).toEqual(note('mine, 1'));
    expect(history.undoes).toBe('the other tab');
    expect(history.undo()).toEqual(note('theirs'));
    expect(history.redo()).toEqual(note('mine, 1'));
  });

  it('changes all its states alike without a step, and leaves what can be done again', () => {
    const history = new History(note('a'));
    history.record(note('b'), 'Stop at');
    history.record(note('c'), 'Tank');
    history.undo();
    history.amend(({ text }) => note(`${text}, saved`));
    expect([history.now, history.undoes, history.redoes]).toEqual([
      note('b, saved'),
      'Stop at',
      'Tank',
    ]);
    expect(history.redo()).toEqual(note('c, saved'));
    history.undo();
    expect(history.undo()).toEqual(note('a, saved'));
  });

  it('lets go of its oldest edits rather than of the room in the browser', () => {
    const history = new History(note('0'));
    const long = 'x'.repeat(100_000);
    for (let step = 1; step <= 30; step += 1) history.record(note(`${step}${long}`), 'x');
    const text = history.toText();
    expect(text.length).toBeLessThanOrEqual(1_500_000);
    expect(History.from(text, history.now, read).undoes).toBe('x');
  });
});
