/** Numbers, durations and clock times as the pages write them. */

/** A number and its unit, apart so that the unit can be set smaller. */
export interface Figure {
  readonly text: string;
  readonly unit: string;
}

const noFigure = '–';

function significant(value: number, digits: number): string {
  if (value === 0) {
    return '0';
  }
  const exponent = Math.floor(Math.log10(Math.abs(value)));
  // Rounding may carry into the next decade (99.6 to 100), so the exponent is read again.
  const rounded = Number(value.toPrecision(digits));
  const shown = Math.floor(Math.log10(Math.abs(rounded)));
  return rounded.toFixed(Math.max(0, digits - 1 - Math.max(exponent, shown)));
}

/**
 * An estimated thickness to two digits, from 100 on in steps of 5 in the third, so that a target
 * of 135 is met by 135; from 1000 on in millimetres, below 1 to one decimal.
 */
export function thickness(micrometres: number): Figure {
  if (!Number.isFinite(micrometres)) {
    return { text: noFigure, unit: 'µm' };
  }
  const size = Math.abs(micrometres);
  if (size < 1) {
    return { text: micrometres.toFixed(1), unit: 'µm' };
  }
  if (size < 99.5) {
    return { text: significant(micrometres, 2), unit: 'µm' };
  }
  const step = 5 * 10 ** (Math.floor(Math.log10(Math.max(100, size * 1.0025))) - 2);
  const rounded = Math.round(micrometres / step) * step;
  return Math.abs(rounded) < 1000
    ? { text: String(rounded), unit: 'µm' }
    : { text: (rounded / 1000).toFixed(step < 500 ? 2 : 1), unit: 'mm' };
}

/** A target: as it was asked for, to four digits; one that follows from a charge is an estimate. */
export function targetThickness(micrometres: number): string {
  const asked = Number(micrometres.toPrecision(4));
  if (Math.abs(asked - micrometres) > 1e-6 * micrometres) {
    const { text, unit } = thickness(micrometres);
    return `${text} ${unit}`;
  }
  return asked < 1000 ? `${asked} µm` : `${asked / 1000} mm`;
}

/** Two estimates, the unit once where it is the same: "120 to 140 µm". */
export function thicknessRange(lowMicrometres: number, highMicrometres: number): string {
  const high = thickness(highMicrometres);
  const low = thickness(lowMicrometres);
  return `${low.text}${low.unit === high.unit ? '' : ` ${low.unit}`} to ${high.text} ${high.unit}`;
}

/** Grams to three digits. */
export function mass(grams: number): Figure {
  const text = Number.isFinite(grams)
    ? Math.abs(grams) < 0.001
      ? '0'
      : significant(grams, 3)
    : noFigure;
  return { text, unit: 'g' };
}

/** Amps with three decimals, or two from 10 A on. */
export function amps(value: number): Figure {
  return {
    text: Number.isFinite(value) ? value.toFixed(value < 9.9995 ? 3 : 2) : noFigure,
    unit: 'A',
  };
}

export function volts(value: number): Figure {
  return { text: Number.isFinite(value) ? value.toFixed(2) : noFigure, unit: 'V' };
}

/** Ohms to three digits; none without current. */
export function ohms(value: number | null): Figure {
  return {
    text: value !== null && Number.isFinite(value) ? significant(value, 3) : noFigure,
    unit: 'Ω',
  };
}

export function ampHours(value: number): Figure {
  return {
    text: Number.isFinite(value) ? value.toFixed(value < 99.995 ? 2 : 1) : noFigure,
    unit: 'A·h',
  };
}

/** Three digits, for an area or a density. */
export function threeDigits(value: number): string {
  return Number.isFinite(value) ? significant(value, 3) : noFigure;
}

/** A duration in its two largest parts: "4 h 12 min", "12 min", "45 s". */
export function duration(ms: number): string {
  if (!Number.isFinite(ms)) {
    return noFigure;
  }
  const seconds = Math.max(0, Math.round(ms / 1000));
  if (seconds < 60) {
    return `${seconds} s`;
  }
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) {
    return `${minutes} min`;
  }
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}

/** To so many digits without the zeros at its end: 2, 1.5, 0.9. */
export function plain(value: number, digits = 2): string {
  return Number.isFinite(value) ? String(Number(value.toPrecision(digits))) : noFigure;
}

const two = (value: number): string => String(value).padStart(2, '0');

/** "06:41", in the zone of this device. */
export function clock(wallMs: number): string {
  const date = new Date(wallMs);
  return `${two(date.getHours())}:${two(date.getMinutes())}`;
}

/** "06:41:03". */
export function clockSeconds(wallMs: number): string {
  return `${clock(wallMs)}:${two(new Date(wallMs).getSeconds())}`;
}

/** "25 Nov 2026". */
export function day(wallMs: number): string {
  return new Date(wallMs).toLocaleDateString('en-GB', {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
  });
}

/** Hours, minutes and seconds since a start: "7:04:09". */
export function elapsed(ms: number): string {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}

/** A sentence of the daemon with its "dm2" as "dm²", and no number parted from its unit. */
export function pretty(text: string): string {
  return text
    .replaceAll(/\b([dcm]m|in|ft)2\b/g, '$1²')
    .replaceAll(/(\d) (?=(h|min|s|A|V|W|µm|mm|%|[dc]m)\b)/g, '$1\u00a0');
}
