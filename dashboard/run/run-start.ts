/** Between arming and start: the plan of the run, the checks of this moment, and the press that starts it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Check } from '../../daemon/run/checks/model.ts';
import { isOpen } from '../../daemon/run/checks/start.ts';
import type { Left } from '../../daemon/run/left.ts';
import type { LiveRun, TankSnapshot } from '../../daemon/wire/bench.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import { read } from '../api.ts';
import {
  checksSection,
  nothingSaid,
  probeOf,
  startBody,
  whyNotStarted,
} from '../checks-section.ts';
import { ChecksWatch } from '../checks-watch.ts';
import { button, NightElement } from '../element.ts';
import { amps, withUnit } from '../format.ts';
import { fetchPart } from '../on-demand.ts';
import { decisiveNumbers, graveNotices } from '../plan-verdict.ts';
import { addresses } from '../route.ts';
import { reactionFold } from './reaction.ts';
import { checkWords } from '#words/checks';
import { runNowWords } from '#words/run-now';

/** What is asked for is waited for so long before the rest is shown without it, ms. */
const patienceMs = 1500;

export class RunStart extends NightElement {
  static override properties = {
    tank: { attribute: false },
    run: { attribute: false },
    record: { attribute: false },
    blocked: {},
    start: { attribute: false },
    disarm: { attribute: false },
  };
  declare tank: TankSnapshot;
  declare run: LiveRun;
  /** Null until the log has it. */
  declare record: RunRecord | null;
  /** Why nothing can be pressed; empty where it can. */
  declare blocked: string;
  /** Told of the press, with what was said for the start. */
  declare start: (said: object) => void;
  declare disarm: () => void;
  readonly #checks = new ChecksWatch(() => this.requestUpdate());
  /** For the run that waits for its start; another run begins with nothing said. */
  #said = { runId: '', ...nothingSaid() };
  /** What is left of a run that carries on; undefined until the daemon has said it. */
  #left: Left | null | undefined;
  #leftOf = '';

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#checks.stop();
  }

  override willUpdate(): void {
    this.#checks.follow(this.isConnected ? this.tank : null);
    if (this.run.id !== this.#said.runId) this.#said = { runId: this.run.id, ...nothingSaid() };
    if (this.record !== null && this.record.id !== this.#leftOf) void this.#askLeft(this.record);
  }

  async #askLeft({ id, continues }: RunRecord): Promise<void> {
    this.#leftOf = id;
    this.#left = continues === null ? null : undefined;
    if (continues === null) return;
    await fetchPart(async () => {
      const left = await read<Left | null>(`/api/runs/${encodeURIComponent(id)}/left`);
      if (id === this.#leftOf) this.#left = left;
    });
    this.requestUpdate();
  }

  #plan(): unknown {
    if (this.record === null) return nothing;
    const { wallMs } = this.tank;
    if (this.#left === undefined) return decisiveNumbers(null, wallMs);
    const { plan } = this.record;
    return html`${decisiveNumbers(plan, wallMs, this.#left)} ${graveNotices(plan)}`;
  }

  readonly #openedMs = performance.now();

  /** Whether plan or checks may still be about to come, and would push the rest away. */
  #isPatient(): boolean {
    const { answer, error } = this.#checks;
    const known = (this.record !== null || !this.run.ready) && (answer !== null || error !== '');
    return !known && performance.now() - this.#openedMs < patienceMs;
  }

  /** A look of its own waits for a free tank, so here is only where it is taken. */
  #deed(check: Check): unknown {
    if (probeOf[check.id] === undefined || !isOpen(check)) return nothing;
    return html`<p class="aside">
      ${checkWords.beforeArming}
      <a href=${addresses.planOn(this.tank.id)}>${checkWords.toPlan}</a>
    </p>`;
  }

  /** What comes between the two presses has to be in sight before the second. */
  #whyNot(): string {
    if (this.blocked !== '') return this.blocked;
    const shown = this.record !== null && this.#left !== undefined;
    if (!this.run.ready || !shown) return runNowWords.notReady;
    return whyNotStarted(this.#checks.answer, this.#said);
  }

  override render(): TemplateResult {
    const { run, record } = this;
    const { answer, error } = this.#checks;
    const current = record ? withUnit(amps(record.plan.holdEndAmps)) : '';
    const changed = (): void => this.requestUpdate();
    return html`<section
      class="arming ${this.#isPatient() ? 'waits' : ''}"
      aria-labelledby="start-title"
    >
      <h2 id="start-title">${runNowWords.armedTitle}</h2>
      ${this.#plan()}
      ${checksSection({
        answer,
        error,
        said: this.#said,
        changed,
        deed: (check) => this.#deed(check),
      })}
      ${answer?.reaction ? reactionFold(answer.reaction, answer.caution === null) : nothing}
      <p class="aside">
        <a href=${addresses.weighIn(run.id)}>${runNowWords.weighBefore}</a>
      </p>
      <p>${runNowWords.armedNote}</p>
      <div class="actions">
        ${button(runNowWords.start(current), () => this.start(startBody(this.#said)), {
          reason: this.#whyNot(),
          id: 'start-why',
          strong: true,
        })}
        ${button(runNowWords.disarm, this.disarm, { reason: this.blocked, id: 'disarm-why' })}
      </div>
    </section>`;
  }
}

customElements.define('run-start', RunStart);
