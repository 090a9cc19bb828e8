/** The change of a run under way: a number stays in the unit that stood beside it when it was typed. */

import { afterEach, describe, expect, it, vi } from 'vitest';
import type { BenchSnapshot, LiveRun } from '../../daemon/wire/bench.ts';
import { connection } from '../../dashboard/connection.ts';
import { RunChangeForm } from '../../dashboard/run/run-change.ts';
import { listeners, shownBy } from './templates.ts';

function chosen(density: string): void {
  connection.bench = { units: { density, length: 'mm', wire: 'mm' } } as unknown as BenchSnapshot;
}

/** As the element does it for itself in a page. */
function shown(form: RunChangeForm): unknown {
  form.willUpdate();
  return form.render();
}

const field = 'for=change-density';

function type(form: RunChangeForm, text: string): void {
  for (const hears of listeners(shown(form), 'input', field)) hears({ target: { value: text } });
}

async function pressed(form: RunChangeForm): Promise<unknown> {
  const bodies: unknown[] = [];
  vi.stubGlobal('fetch', (_path: string, { body }: { body: string }) => {
    bodies.push(JSON.parse(body));
    return Promise.resolve(Response.json({ raises: true, sentence: 'Looked at' }));
  });
  for (const press of listeners(shown(form), 'submit', field)) {
    press({ preventDefault: () => undefined });
  }
  await vi.waitFor(() => expect(form.looked).not.toBeNull());
  return bodies;
}

function newForm(): RunChangeForm {
  const form = new RunChangeForm();
  form.tankId = 'one';
  form.run = { id: 'r', version: 3, holdAmpsPerDm2: 1.5, targetMicrometres: 200 } as LiveRun;
  return form;
}

describe('the target of the change form', () => {
  const figures = { targetAmpHours: 0.6, ampHours: 0.3, massGrams: 0.3555 };

  function formOf(stopsBy: RunChangeForm['stopsBy']): RunChangeForm {
    const form = newForm();
    form.run = { ...form.run, ...figures };
    form.stopsBy = stopsBy;
    return form;
  }

  it('opens on what the run stops by', () => {
    expect(shownBy(shown(formOf('charge')))).toMatch(/\.value=0\.6\s[^]*<span>A·h<\/span>/);
    expect(shownBy(shown(formOf('mass')))).toMatch(/\.value=0\.711\s[^]*<span>g<\/span>/);
  });

  it('keeps the unit in which a number was typed, whatever the run stops by meanwhile', () => {
    const form = formOf('thickness');
    for (const hears of listeners(shown(form), 'input', 'for=change-target')) {
      hears({ target: { value: '150' } });
    }
    form.stopsBy = 'charge';
    expect(shownBy(shown(form))).toMatch(/\.value=150\s[^]*<span>µm<\/span>/);
  });
});

afterEach(() => {
  vi.unstubAllGlobals();
  connection.bench = null;
});

describe('a density of the change form', () => {
  it('is meant in the unit in which it was typed, whatever is chosen meanwhile', async () => {
    chosen('A/ft2');
    const form = newForm();
    expect(shownBy(shown(form))).toContain('<span>A/ft²</span>');
    type(form, '20');
    chosen('A/dm2');
    expect(shownBy(shown(form))).toContain('<span>A/ft²</span>');
    // NIST SP 811, appendix B.8, from memory: 1 ft2 is 9.290 304 dm2.
    expect(await pressed(form)).toMatchObject([
      { change: { kind: 'density', ampsPerDm2: expect.closeTo(20 / 9.290_304, 10) as number } },
    ]);
  });

  it('follows the unit that is chosen while nothing is typed', () => {
    chosen('A/ft2');
    const form = newForm();
    type(form, '20');
    type(form, ' ');
    chosen('A/dm2');
    expect(shownBy(shown(form))).toContain('<span>A/dm²</span>');
    const untouched = newForm();
    expect(shownBy(shown(untouched))).toContain('.value=1.5');
    chosen('A/ft2');
    expect(shownBy(shown(untouched))).toContain('.value=13.94');
  });
});
