/** The words of the picture of what has grown, in English. */

const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

export const ringWords = {
  magnified: (factor: number) => `×${factor} magnified`,
  thicker: (factor: number) => `metal ×${factor}`,
  description: (
    range: string,
    target: string,
    hours: number,
    lifts: number,
    alarms: number,
  ): string =>
    `Cross-section: ${range} of metal grown, target ${target}; ` +
    `${plural(hours, 'hour', 'hours')}, ${plural(lifts, 'lift', 'lifts')}, ` +
    `${plural(alarms, 'alarm', 'alarms')}.`,
  caption: (part: string) =>
    `Cut through: ${part}. A ring for each hour; dashed, the target; soft edge, the uncertainty.`,
  gap: 'Dark gap: lifted.',
  notch: 'Notch: alarm.',
} as const;
