/** Shares of the settings as the page has them typed: in percent, which the file does not know. */

/** One percent, as a share. */
export const percent = 0.01;

/** How a share is typed and shown. */
export const inPercent = { kind: 'number', unit: '%', perUnit: percent } as const;

const figure = String.raw`(?<![\w.])-?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\w.]*\w)`;

/** A figure of the daemon in percent; twelve digits, as the last bit of a float was never typed. */
function hundredfold(share: string): string {
  return String(Number((Number(share) / percent).toPrecision(12)));
}

/** A sentence of the daemon about a share, its figure and the bounds of it told in percent. */
export function toldInPercent(text: string): string {
  const parts =
    /^(?<what>.*? is )(?<value>.+?)(?<must>; it must be )(?<bound>.*?\.)(?<rest>(?: .*)?)$/s;
  const { what, value, must, bound, rest } = parts.exec(text)?.groups ?? {};
  if (what === undefined || value === undefined || bound === undefined) return text;
  const typed = new RegExp(`^${figure}$`).test(value) ? hundredfold(value) : value;
  const bounds = bound.replaceAll(new RegExp(figure, 'g'), hundredfold);
  return `${what}${typed}${must ?? ''}${bounds.replace(/(.*\d)/s, '$1 %')}${rest ?? ''}`;
}
