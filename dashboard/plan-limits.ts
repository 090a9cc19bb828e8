/** What a plan comes to in current, voltage and metal, and where it cuts out. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Left } from '../daemon/run/left.ts';
import type { Plan, Ranged } from '../daemon/run/model.ts';
import { fact, figure } from './element.ts';
import * as format from './format.ts';
import { planWords } from '#words/plan';

const three = format.threeDigits;

function rangedFact(label: string, { value, low, high }: Ranged, unit: string): TemplateResult {
  const between = format.range(three(low), `${three(high)} ${unit}`);
  return fact(label, figure({ text: three(value), unit }), between);
}

function hangerFact({ hanger }: Plan): unknown {
  if (!hanger) return nothing;
  const { amps, ratingAmps, riseKelvin } = hanger;
  return fact(
    planWords.hanger,
    figure(format.amps(amps)),
    planWords.hangerNote(`${three(ratingAmps)} A`, three(riseKelvin)),
  );
}

/** Current, voltage, metal and limits; of a run that carries on, what is still to go. */
export function limitsDetail(plan: Plan, left: Left | null): TemplateResult {
  const { massGrams, expectedVolts, limits } = plan;
  const share = left?.share ?? 1;
  return html`<dl class="facts">
    ${rangedFact(planWords.voltage, expectedVolts, 'V')}
    ${fact(
      left ? planWords.chargeLeft : planWords.charge,
      figure(format.ampHours(share * plan.targetChargeAmpHours)),
    )}
    ${rangedFact(planWords.areaNow, plan.areaDm2, 'dm²')}
    ${fact(
      planWords.mass,
      figure(format.mass(massGrams.value)),
      format.range(three(massGrams.low), `${three(massGrams.high)} g`),
    )}
    ${fact(planWords.anode, figure(format.mass(share * plan.anodeLossGrams)))}
    ${fact(planWords.energy, figure({ text: three(share * plan.energyWattHours), unit: 'W·h' }))}
    ${hangerFact(plan)}
    ${fact(
      planWords.cutsOut,
      format.list([`${three(limits.maxAmps)} A`, `${three(limits.maxVolts)} V`]),
      format.duration(limits.maxDurationMs),
    )}
  </dl> `;
}
