/** Reads a mesh file into a part: sending, refusals, the unit where the file has none, and a preview. */

import { html, nothing, svg, type TemplateResult } from 'lit';
import { toPart } from '../../daemon/piece/mesh/part.ts';
import { askedUnits, millimetresPer } from '../../daemon/piece/mesh/units.ts';
import type { MeshUnit } from '../../daemon/piece/model.ts';
import type { MeshAnswer } from '../../daemon/wire/mesh.ts';
import { fact, NightElement } from '../element.ts';
import { ApiError } from '../api.ts';
import { list, many, threeDigits } from '../format.ts';
import { words } from '#words/common';
import type { DraftPart } from './draft.ts';
import { upload, type Upload } from './upload.ts';
import { meshWords } from '#words/mesh';

/** The preview's lines as one path, in units of the file, y down. */
export function previewPath({ segments, height }: MeshAnswer['preview']): string {
  let path = '';
  for (let at = 0; at + 3 < segments.length; at += 4) {
    const [x1, y1, x2, y2] = [0, 1, 2, 3].map((by) => segments[at + by] ?? 0);
    path += `M${x1} ${height - (y1 ?? 0)}L${x2} ${height - (y2 ?? 0)}`;
  }
  return path;
}

/** By how many lengths a figure of a mesh is multiplied. */
const dimensions: Readonly<Record<string, number>> = {
  areaMm2: 2,
  volumeMm3: 3,
  meanCurvatureMm: 1,
  lengthMm: 1,
  widthMm: 1,
  heightMm: 1,
};

/** The figures of a mesh as they are where its file is meant in another unit. */
export function inOtherUnit(
  sizes: Readonly<Record<string, string>>,
  from: MeshUnit,
  to: MeshUnit,
): Record<string, string> {
  const factor = millimetresPer(to) / millimetresPer(from);
  return Object.fromEntries(
    Object.entries(sizes).map(([name, text]) => {
      const power = dimensions[name] ?? 0;
      return [name, power === 0 ? text : String(Number(text) * factor ** power)];
    }),
  );
}

/** Only this kind of file says what its numbers mean. */
const saysItsUnit = /\.3mf$/i;

const millimetres = (mm: number): string => threeDigits(mm);

export class MeshReader extends NightElement {
  static override properties = { held: {}, edit: {} };
  /** The part that the file is read into. */
  declare held: DraftPart;
  declare edit: (apply: (part: DraftPart) => void) => void;
  #answer: MeshAnswer | null = null;
  #sending: Upload<MeshAnswer> | null = null;
  #share = 0;
  #fileName = '';
  #error = '';
  #over = false;

  constructor() {
    super();
    this.edit = () => undefined;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#sending?.cancel();
  }

  async #send(file: File | undefined): Promise<void> {
    if (!file) return;
    this.#sending?.cancel();
    this.#error = '';
    this.#answer = null;
    this.#share = 0;
    this.#fileName = file.name;
    const path = `/api/meshes?fileName=${encodeURIComponent(file.name.slice(-200))}`;
    const sending = upload<MeshAnswer>(path, file, (share) => {
      this.#share = share;
      this.requestUpdate();
    });
    this.#sending = sending;
    this.requestUpdate();
    try {
      const answer = await sending.answer;
      if (this.#sending !== sending) return;
      this.#answer = answer;
      if (answer.unit !== null) this.#use(answer, answer.unit);
    } catch (error) {
      if (this.#sending !== sending) return;
      const reason = error instanceof ApiError ? error.message : words.failed;
      this.#error = `${meshWords.refused(file.name)} ${reason}`;
    }
    this.#sending = null;
    this.requestUpdate();
  }

  #use(answer: MeshAnswer, unit: MeshUnit): void {
    const { sizes, mesh } = toPart(answer.measure, unit, answer);
    this.edit((part) => {
      part.sizes = Object.fromEntries(
        Object.entries(sizes).map(([name, value]) => [name, String(value)]),
      );
      part.mesh = mesh;
    });
  }

  #drop(): TemplateResult {
    const text = meshWords;
    const over = (on: boolean) => (event: DragEvent) => {
      event.preventDefault();
      if (on === this.#over) return;
      this.#over = on;
      this.requestUpdate();
    };
    return html`<div
      class="mesh-drop ${this.#over ? 'is-over' : ''}"
      @dragover=${over(true)}
      @dragleave=${over(false)}
      @drop=${(event: DragEvent) => {
        over(false)(event);
        void this.#send(event.dataTransfer?.files[0]);
      }}
    >
      <label class="file press-link">
        ${this.held.mesh === null ? text.choose : text.another}
        <input
          type="file"
          class="unseen"
          accept=".stl,.obj,.3mf"
          @change=${(event: Event) => {
            const input = event.target as HTMLInputElement;
            void this.#send(input.files?.[0]);
            input.value = '';
          }}
        />
      </label>
      <span class="aside">${text.drop} ${text.why}</span>
    </div>`;
  }

  #progress(): TemplateResult {
    const text = meshWords;
    const percent = Math.round(this.#share * 100);
    return html`<div class="mesh-progress">
      <span role="status">
        ${this.#sending ? (percent < 100 ? text.sending(percent) : text.measuring) : ''}
      </span>
      ${
        this.#sending
          ? html`<progress
                max="100"
                .value=${percent}
                aria-label=${text.progress(this.#fileName)}
              ></progress>
              <button type="button" class="quiet" @click=${() => this.#sending?.cancel()}>
                ${text.cancel}
              </button>`
          : nothing
      }
    </div>`;
  }

  #units(answer: MeshAnswer): TemplateResult {
    const text = meshWords;
    const chosen = this.held.mesh?.sha256 === answer.sha256 ? this.held.mesh.unit : null;
    return html`<fieldset class="mesh-units">
      <legend>${text.unitTitle}</legend>
      <p class="aside">${text.unitHelp}</p>
      ${answer.candidates.map(
        ({ unit, lengthMm, widthMm, heightMm, areaMm2, plausible }) =>
          html`<label class="tick">
            <input
              type="radio"
              name="mesh-unit-${this.held.key}"
              .checked=${unit === chosen}
              @change=${() => this.#use(answer, unit)}
            />
            <span>
              ${text.units[unit]}
              <span class="aside">
                ${list([
                  `${[lengthMm, widthMm, heightMm].map(millimetres).join(' × ')} mm`,
                  `${threeDigits(areaMm2 / 100)} cm²`,
                  ...(plausible ? [] : [text.odd]),
                ])}
              </span>
            </span>
          </label>`,
      )}
    </fieldset>`;
  }

  /** After a reload the file is gone, and its unit may still be another one. */
  #keptUnits(): unknown {
    const text = meshWords;
    const { mesh, sizes, key } = this.held;
    if (mesh === null || saysItsUnit.test(mesh.fileName)) return nothing;
    const choose = (unit: MeshUnit): void =>
      this.edit((part) => {
        part.sizes = inOtherUnit(sizes, mesh.unit, unit);
        part.mesh = { ...mesh, unit };
      });
    return html`<fieldset class="mesh-units">
      <legend>${text.unitTitle}</legend>
      <p class="aside">${text.unitHelp}</p>
      ${askedUnits.map((unit) => {
        const other = inOtherUnit(sizes, mesh.unit, unit);
        const extents = ['lengthMm', 'widthMm', 'heightMm'].map((name) =>
          millimetres(Number(other[name])),
        );
        const area = threeDigits(Number(other['areaMm2']) / 100);
        return html`<label class="tick">
          <input
            type="radio"
            name="mesh-unit-${key}"
            .checked=${unit === mesh.unit}
            @change=${() => choose(unit)}
          />
          <span>
            ${text.units[unit]}
            <span class="aside">${list([`${extents.join(' × ')} mm`, `${area} cm²`])}</span>
          </span>
        </label>`;
      })}
    </fieldset>`;
  }

  #preview({ preview, fileName }: MeshAnswer): TemplateResult {
    const { width, height } = preview;
    const margin = 0.04 * Math.max(width, height);
    const box = `${-margin} ${-margin} ${width + 2 * margin} ${height + 2 * margin}`;
    return html`<svg
      class="mesh-preview"
      viewBox=${box}
      role="img"
      aria-label=${meshWords.preview(fileName)}
    >
      ${svg`<path d=${previewPath(preview)}></path>`}
    </svg>`;
  }

  #facts(): TemplateResult {
    const text = meshWords;
    const { sizes, mesh } = this.held;
    const size = (name: string): number => Number(sizes[name] ?? Number.NaN);
    const measure = this.#answer?.sha256 === mesh?.sha256 ? this.#answer?.measure : undefined;
    const volume = size('volumeMm3');
    const extents = ['lengthMm', 'widthMm', 'heightMm'].map((name) => millimetres(size(name)));
    return html`<p>${mesh ? text.from(mesh.fileName, text.units[mesh.unit]) : nothing}</p>
      <dl class="facts">
        ${fact(text.area, `${threeDigits(size('areaMm2') / 100)} cm²`)}
        ${fact(text.volume, volume > 0 ? `${threeDigits(volume / 1000)} cm³` : text.noVolume)}
        ${fact(text.size, `${extents.join(' × ')} mm`)}
        ${fact(text.triangles, mesh && many(mesh.triangles))}
        ${measure ? fact(text.closed, measure.closed ? text.yes : text.open(measure.openEdges)) : nothing}
      </dl>
      ${measure?.notes.map((note) => html`<p class="aside">${note}</p>`)}`;
  }

  override render(): TemplateResult {
    const answer = this.#answer;
    return html`<div class="mesh">
      ${this.#drop()} ${this.#progress()}
      <p class="problem" role="alert">${this.#error}</p>
      ${answer === null && this.#sending === null ? this.#keptUnits() : nothing}
      ${answer && answer.unit === null ? this.#units(answer) : nothing}
      ${answer ? this.#preview(answer) : nothing} ${this.held.mesh ? this.#facts() : nothing}
    </div>`;
  }
}

customElements.define('mesh-reader', MeshReader);
