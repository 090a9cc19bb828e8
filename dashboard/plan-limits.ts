/** What a plan comes to in current, voltage and metal, and where it cuts out. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Left } from '../daemon/run/left.ts';
import type { Plan, Ranged } from '../daemon/run/model.ts';
import { fact, figure } from './element.ts';
import * as format from './format.ts';
import { planDetailWords } from '#words/plan-details';

const three = format.threeDigits;

function rangedFact(label: string, { value, low, high }: Ranged, unit: string): TemplateResult {
  const between = format.range(three(low), `${three(high)} ${unit}`);
  return fact(label, figure({ text: three(value), unit }), between);
}

function hangerFact({ hanger }: Plan): unknown {
  if (!hanger) return nothing;
  const { amps, ratingAmps, riseKelvin } = hanger;
  return fact(
    planDetailWords.limits.hanger,
    figure(format.amps(amps)),
    planDetailWords.limits.hangerNote(`${three(ratingAmps)} A`, three(riseKelvin)),
  );
}

/** Current, voltage, metal and limits; of a run that carries on, what is still to go. */
export function limitsDetail(plan: Plan, left: Left | null): TemplateResult {
  const { massGrams, expectedVolts, limits } = plan;
  const share = left?.share ?? 1;
  return html`<dl class="facts">
    ${rangedFact(planDetailWords.limits.voltage, expectedVolts, 'V')}
    ${fact(
      left ? planDetailWords.limits.chargeLeft : planDetailWords.limits.charge,
      figure(format.ampHours(share * plan.targetChargeAmpHours)),
    )}
    ${rangedFact(planDetailWords.limits.areaNow, plan.areaDm2, 'dm²')}
    ${fact(
      planDetailWords.limits.mass,
      figure(format.mass(massGrams.value)),
      format.range(three(massGrams.low), `${three(massGrams.high)} g`),
    )}
    ${fact(planDetailWords.limits.anode, figure(format.mass(share * plan.anodeLossGrams)))}
    ${fact(planDetailWords.limits.energy, figure({ text: three(share * plan.energyWattHours), unit: 'W·h' }))}
    ${hangerFact(plan)}
    ${fact(
      planDetailWords.limits.cutsOut,
      format.list([`${three(limits.maxAmps)} A`, `${three(limits.maxVolts)} V`]),
      format.duration(limits.maxDurationMs),
    )}
  </dl> `;
}
