/** What a plan says of the materials of a piece, with the table as shipped. */

import { describe, expect, test } from 'vitest';
import type { PlanQuestion } from '../../daemon/run/model.ts';
import { comparePlans } from '../../daemon/run/plan-compare.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { loadMaterials } from '../../daemon/settings/door.ts';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import { beaker, flat, pieceOf, stillCopper, twigRequest } from './plan-fixtures.ts';

const materials = loadMaterials({}, 'nowhere/bench.toml');

const question = (ids: readonly string[], acceptMaterials?: readonly string[]): PlanQuestion => ({
  ...twigRequest,
  piece: { ...pieceOf([flat(0.3)]), materials: ids.map((id) => ({ id })) },
  acceptMaterials,
});

function ask(asked: PlanQuestion) {
  const result = planRun(asked, stillCopper, beaker, { materials });
  expect(planResultSchema.parse(JSON.parse(JSON.stringify(result)))).toEqual(
    JSON.parse(JSON.stringify(result)),
  );
  if (!result.ok) throw new Error(result.problems.map(({ message }) => message).join('\n'));
  const ofMaterials = result.plan.notices.filter(({ field }) => field.startsWith('piece.mat'));
  return { plan: result.plan, said: ofMaterials.map(({ code, value }) => `${code} ${value}`) };
}

const nameOf = (id: string) => materials.find((row) => row.id === id)?.name ?? '';

describe('the materials of a piece', () => {
  test('that give off a poison refuse the plan, and bare iron is warned about', () => {
    const { plan, said } = ask(question(['fluorite', 'lapis', 'iron-steel']));
    expect(plan.startable).toBe(false);
    expect(said).toContain(`materialPoisons ${nameOf('fluorite')}`);
    expect(said).toContain(`materialPoisons ${nameOf('lapis')}`);
    expect(said.some((one) => one.endsWith(nameOf('iron-steel')))).toBe(true);
    const words = plan.notices.map(({ message }) => message).join(' ');
    // CaF2 in acid gives HF, lazurite gives H2S: chemistry texts, from memory, high confidence.
    expect(words).toMatch(/hydrofluoric acid/);
    expect(words).toMatch(/hydrogen sulfide/);
  });

  test('are accepted by name one by one, and still warned about', () => {
    const one = ask(question(['fluorite', 'lapis'], ['lapis']));
    expect(one.plan.startable).toBe(false);
    const both = ask(question(['fluorite', 'lapis'], ['lapis', 'fluorite']));
    expect(both.plan.startable).toBe(true);
    expect(both.said.toSorted()).toEqual(
      [`poisonAccepted ${nameOf('fluorite')}`, `poisonAccepted ${nameOf('lapis')}`].toSorted(),
    );
  });

  test('cannot be accepted where the piece has no such material', () => {
    const result = planRun(question(['lapis'], ['fluorite']), stillCopper, beaker, { materials });
    expect(result).toMatchObject({ ok: false, problems: [{ field: 'acceptMaterials[0]' }] });
  });

  test('that the table does not know are never passed over', () => {
    const { plan, said } = ask(question(['moon-cheese']));
    expect(said).toEqual(['materialUnknown moon-cheese']);
    expect(plan.materials?.verdict).toBe('keepOut');
    const without = planRun(question(['lapis']), stillCopper, beaker);
    const codes = without.ok ? without.plan.notices.map(({ code }) => code) : [];
    expect(codes).toContain('materialUnknown');
  });

  test('that withstand the bath say nothing, and their judgement stands in the plan', () => {
    const { plan, said } = ask(question(['quartz']));
    expect(said).toEqual([]);
    expect(plan.materials).toMatchObject({ verdict: 'withstands', materials: [{ id: 'quartz' }] });
    expect(ask(question([])).plan.materials).toBeNull();
  });

  test('count when densities are compared', () => {
    const result = comparePlans(question(['lapis']), [1, 1.5], stillCopper, beaker, { materials });
    expect(result.ok && result.rows.map(({ startable }) => startable)).toEqual([false, false]);
  });
});
