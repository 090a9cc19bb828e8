/** The baths that tanks may have: their windows, where each figure is from, and who has which. */

import { html, type TemplateResult } from 'lit';
import type { Bath } from '../../daemon/chemistry/model.ts';
import { connection } from '../connection.ts';
import { fact } from '../element.ts';
import { addresses } from '../route.ts';
import { densityRange } from '../units.ts';
import { SetupPart } from './part.ts';
import { setupWords } from './words.ts';

const say = setupWords.baths;

export class BathsPart extends SetupPart {
  #users(bath: Bath): string {
    const names = this.desk
      .list(['tanks'])
      .flatMap((_tank, index) =>
        this.desk.text(['tanks', index, 'bath']) === bath.id
          ? [this.desk.text(['tanks', index, 'name'])]
          : [],
      );
    return names.length === 0 ? say.unused : say.usedBy(names.join(', '));
  }

  #bath(bath: Bath): TemplateResult {
    const { window, temperature, loading, efficiency } = bath;
    const percent = Math.round(efficiency.value * 1000) / 10;
    return html`<section class="setup-block" aria-labelledby="bath-${bath.id}">
      <h2 id="bath-${bath.id}">${bath.name}</h2>
      <p class="aside">${this.#users(bath)}</p>
      <dl class="facts">
        ${fact(
          say.window,
          densityRange(
            window.minAmpsPerDm2,
            window.maxAmpsPerDm2,
            connection.bench?.units?.density,
          ),
        )}
        ${fact(say.temperature, `${temperature.minCelsius} to ${temperature.maxCelsius} °C`)}
        ${fact(say.efficiency, `${percent} %`)}
        ${fact(say.loading, `${loading.maxAmpsPerLitre} A/L`)}
      </dl>
      <p class="aside">${say.from(window.source)}</p>
    </section>`;
  }

  override render(): TemplateResult {
    return html`<p>${say.intro}</p>
      <p><a href=${addresses.setupOf('tanks')}>${say.toTanks}</a></p>
      ${connection.bench?.baths.map((bath) => this.#bath(bath))}`;
  }
}

customElements.define('baths-part', BathsPart);
