/** Setup of supplies: one that is new, and those in service. */

import { html, type TemplateResult } from 'lit';
import { NewSupply } from './new-supply.ts';
import { SetupPart } from './part.ts';
import { ServedSupply } from './served-supply.ts';
import { SteadyCurrent } from './steady-current.ts';
import { supplyWords as say } from '#words/supply';

export class SupplyPart extends SetupPart {
  override render(): TemplateResult {
    return html`<p class="caution">${say.intro}</p>
      <h2>${say.newSupply}</h2>
      <new-supply .desk=${this.desk} .turn=${this.turn}></new-supply>
      <h2>${say.inService}</h2>
      <served-supply .desk=${this.desk} .turn=${this.turn}></served-supply>`;
  }
}

customElements.define('new-supply', NewSupply);
customElements.define('served-supply', ServedSupply);
customElements.define('steady-current', SteadyCurrent);
customElements.define('supply-part', SupplyPart);
