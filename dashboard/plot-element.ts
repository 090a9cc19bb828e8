/** What elements with plots share: colours of the look, widths that follow the page, plots that end with it. */

import type uPlot from 'uplot';
import { Palette } from './curves.ts';
import { NightElement } from './element.ts';

/** An element with one plot a key; each is drawn anew in the next update once it was cleared. */
export abstract class PlotElement<Key extends string> extends NightElement {
  protected readonly palette = new Palette();
  protected readonly plots = new Map<Key, uPlot>();
  /** Each call of matchMedia gives another object, and only this one can be let go of again. */
  readonly #scheme = matchMedia('(prefers-color-scheme: light)');
  readonly #size = new ResizeObserver(() => this.#fit());

  /** Where the plot of a key stands; null while it is not on the page. */
  protected abstract holder(key: Key): HTMLElement | null;

  protected clear(): void {
    for (const plot of this.plots.values()) plot.destroy();
    this.plots.clear();
  }

  readonly #relook = (): void => {
    this.palette.forget();
    this.clear();
    this.requestUpdate();
  };

  override connectedCallback(): void {
    super.connectedCallback();
    this.#size.observe(this);
    addEventListener('look', this.#relook);
    this.#scheme.addEventListener('change', this.#relook);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#size.disconnect();
    removeEventListener('look', this.#relook);
    this.#scheme.removeEventListener('change', this.#relook);
    this.clear();
  }

  #fit(): void {
    for (const [key, plot] of this.plots) {
      const width = this.holder(key)?.clientWidth ?? 0;
      if (width > 0 && width !== plot.width) plot.setSize({ width, height: plot.height });
    }
  }
}
