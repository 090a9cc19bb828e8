/** The number in a line of a sensor: a bare number, with a unit behind it or a short name before it. */

/** `23.5`, `+23.50 C`, `T=23.5`, `bath: 23.5 °C`; the degree sign may come as one byte or as two. */
const LINE =
  /^(?:[A-Za-z][A-Za-z0-9 _]{0,15}[=:])?[ \t]*([+-]?\d{1,6}(?:\.\d{1,6})?)[ \t]*(?:\xc2?\xb0)?[A-Za-z%]{0,4}$/;

/** What the line says, or null where it says no number that stands for itself. */
export function sensorNumber(line: string): number | null {
  const digits = LINE.exec(line.replaceAll(/[\r\0]/g, '').trim())?.[1];
  return digits === undefined ? null : Number(digits);
}
