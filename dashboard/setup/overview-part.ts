/** The first page of Setup: the file, the studio's name, each part in one line, and who changed what. */

import { html, nothing, type TemplateResult } from 'lit';
import { button } from '../element.ts';
import { dayAndTime, list } from '../format.ts';
import { addresses } from '../route.ts';
import { fieldRows, SettingsForm } from './form.ts';
import type { Field } from './form.ts';
import { SetupPart } from './part.ts';
import { setupWords as say } from '#words/setup';

const fields: readonly Field[] = [{ path: ['studio'], label: say.studio, wide: true }];

export class OverviewPart extends SetupPart {
  #form: SettingsForm | null = null;

  async #save(form: SettingsForm): Promise<void> {
    if (await this.desk.save(form.changes(fields))) form.clear();
  }

  #lines(): readonly (readonly [keyof typeof say.parts, string])[] {
    const tanks = this.desk
      .list(['tanks'])
      .map((_tank, index) => this.desk.text(['tanks', index, 'name']));
    const channels = this.desk
      .list(['alerts', 'channels'])
      .map((_one, index) => this.desk.text(['alerts', 'channels', index, 'name']));
    const listen = this.desk.list(['web', 'listen']).map(String);
    const unit = this.desk.text(['units', 'density']) as keyof typeof say.units.densities;
    return [
      ['supply', say.tanks.toSupply],
      ['tanks', list(tanks)],
      ['baths', say.baths.toTanks],
      ['alerts', channels.length === 0 ? say.alerts.none : list(channels)],
      ['access', listen.length === 0 ? say.access.hereOnly : say.access.served(list(listen))],
      ['units', say.units.densities[unit] ?? say.units.densities['A/dm2']],
    ];
  }

  override render(): TemplateResult {
    const { file, history } = this.desk;
    if (file === null) return html``;
    const form = (this.#form ??= new SettingsForm(this.desk, [], this.changed));
    return html`<ul class="setup-parts">
        ${this.#lines().map(
          ([part, line]) =>
            html`<li>
              <a href=${addresses.setupOf(part)}>${say.parts[part]}</a>
              <span class="aside">${line}</span>
            </li>`,
        )}
      </ul>
      <section class="setup-block">
        ${fieldRows(form, fields)}
        <p class="actions">
          ${button(say.save, () => void this.#save(form), { id: 'save-studio', strong: true })}
        </p>
      </section>
      <section class="setup-block">
        <h2>${say.file}</h2>
        <p class="break"><code>${file.file}</code></p>
        ${
          file.target === file.file
            ? nothing
            : html`<p class="aside break">${say.firstSave(file.target)}</p>`
        }
        <p class="aside">${say.keeps}</p>
      </section>
      <section class="setup-block">
        <h2>${say.history}</h2>
        ${
          history.length === 0
            ? html`<p class="aside">${say.noHistory}</p>`
            : html`<ul class="setup-notes">
                ${history.map(
                  ({ wallMs, message }) =>
                    html`<li class="break">
                      ${message} <span class="aside">${dayAndTime(wallMs)}</span>
                    </li>`,
                )}
              </ul>`
        }
      </section>`;
  }
}

customElements.define('overview-part', OverviewPart);
