/** Sizes of the piece before and after the bath, what shuts first, and ring sizes and gauges in words. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Span } from '../daemon/piece/answer.ts';
import type { FinalSize, PartSizes } from '../daemon/piece/final-sizes.ts';
import { gaugeScales, nearestGauge } from '../daemon/piece/gauges.ts';
import type { Plan } from '../daemon/run/model.ts';
import type { Outlook } from '../daemon/run/outlook.ts';
import { fixed, pretty, range, thickness, withUnit } from './format.ts';
import { sizeUnit, wireScale } from './units.ts';
import { planDetailWords } from '#words/plan-details';

/** A length as a caliper reads it: hundredths, or thousandths below a tenth of a millimetre. */
export function lengthMm(mm: number): string {
  if (mm >= 100) return fixed(mm, 1);
  return fixed(mm, mm >= 0.1 || mm === 0 ? 2 : 3);
}

/** The same in the unit of the settings, without it; an inch to a ten-thousandth. */
export function sizeText(mm: number): string {
  if (sizeUnit() === 'mm' || !Number.isFinite(mm)) return lengthMm(mm);
  return fixed(mm / 25.4, 4);
}

/** The deposit of a plan as a range in mm. */
export function depositMm({ thicknessMicrometres: { low, value, high } }: Plan): Span {
  return { low: low / 1000, value: value / 1000, high: high / 1000 };
}

/** The size that a plan aims at, as the table has it; null where it aims at none. */
export function aimedSize({ request }: Plan, { sizes }: Pick<Outlook, 'sizes'>): Span | null {
  const { target } = request;
  const goal = target.kind === 'done-by' ? target.goal : target;
  if (goal.kind !== 'final-size') return null;
  const part = sizes.find(({ partIndex }) => partIndex === goal.partIndex);
  return part?.sizes.find(({ name }) => name === goal.dimension)?.after ?? null;
}

/** A ring in the words of its scales, a wire in those of its gauges; empty for anything else. */
export function inWords({ name, beforeMm, after, rings }: FinalSize): readonly string[] {
  const became = rings.map((ring) => planDetailWords.sizes.ring(ring.before, ring.after));
  if (!/wireDiameter/i.test(name)) return became;
  const asked = wireScale();
  const gauges = gaugeScales.flatMap(({ id }) => {
    if (asked !== null && id !== asked) return [];
    const [before, then] = [nearestGauge(id, beforeMm), nearestGauge(id, after.value)];
    return before && then ? [planDetailWords.sizes.ring(before.words, then.words)] : [];
  });
  return [...became, ...gauges];
}

function sizeRow(size: FinalSize): TemplateResult {
  const { label, beforeMm, after, closing } = size;
  const shut = closing !== null && after.value === 0;
  const closes = closing !== null && closing.state !== 'staysOpen';
  const said = inWords(size);
  return html`<tr>
      <th scope="row">${label}</th>
      <td>${sizeText(beforeMm)}</td>
      <td class="after">
        ${shut ? planDetailWords.sizes.shut : sizeText(after.value)}
        <small>${range(sizeText(after.low), sizeText(after.high))}</small>
      </td>
    </tr>
    ${
      said.length > 0 || closes
        ? html`<tr class="spoken">
            <td colspan="3">
              ${closes ? html`<p class="closes">${pretty(closing.words)}</p>` : nothing}
              ${said.map((text) => html`<p>${pretty(text)}</p>`)}
            </td>
          </tr>`
        : nothing
    }`;
}

function partRows({ label, sizes }: PartSizes): TemplateResult {
  return html`<tbody>
    <tr class="group">
      <th scope="rowgroup" colspan="3">${label}</th>
    </tr>
    ${sizes.map(sizeRow)}
  </tbody>`;
}

function first([closure]: Outlook['closures']): string {
  if (!closure) return planDetailWords.sizes.noneShuts;
  return planDetailWords.sizes.firstFuses(
    closure.partName,
    closure.label,
    withUnit(thickness(closure.closesAtMm * 1000)),
  );
}

/** The table of sizes, and in words what shuts first. */
export function sizesDetail({ sizes: parts, closures }: Outlook): TemplateResult {
  const inside = parts.some(({ sizes }) => sizes.some(({ name }) => /inside|hole/i.test(name)));
  return html`${
    parts.length === 0
      ? html`<p class="aside">${planDetailWords.sizes.none}</p>`
      : html`<p class="first-shut">${first(closures)}</p>
          <table class="sizes-table">
            <thead>
              <tr>
                <th scope="col">${planDetailWords.sizes.size}</th>
                <th scope="col">${planDetailWords.sizes.before(sizeUnit())}</th>
                <th scope="col">${planDetailWords.sizes.after(sizeUnit())}</th>
              </tr>
            </thead>
            ${parts.map(partRows)}
          </table>
          ${inside ? html`<p class="aside">${planDetailWords.sizes.shade}</p>` : nothing}`
  } `;
}
