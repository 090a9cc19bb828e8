/** A throw-away settings folder with one bath and one dialect of its own, for the settings tests. */

import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { SettingsError, loadSettings } from '../../daemon/settings/door.ts';
import type { LoadedSettings, SettingsProblem } from '../../daemon/settings/door.ts';

export const bathToml = `
id = "trial-copper"
name = "Trial copper"
metal = "copper-II"
agitation = "still"
notes = []
window = { minAmpsPerDm2 = 0.5, typicalAmpsPerDm2 = 1.5, maxAmpsPerDm2 = 3, source = "invented for the test" }
efficiency = { value = 0.98, uncertainty = 0.02, source = "invented for the test" }
temperature = { minCelsius = 18, maxCelsius = 28, source = "invented for the test" }
conductivity = { siemensPerMetre = 25, source = "invented for the test" }
loading = { maxAmpsPerLitre = 1.5, source = "invented for the test" }
`;

export const benchToml = `
studio = "Trial bench"

[server]
port = 0

[[tanks]]
id = "one"
name = "Tank one"
bath = "trial-copper"
volumeLitres = 2.5
anodeAreaDm2 = 2
maxAmps = 3
maxVolts = 6
maxHours = 14
pollHz = 4
timeScale = 1

[tanks.rectifier]
driver = "scpi"
dialect = "trial-dialect"
meterUncertainty = 0.01
link = { kind = "in-process" }
`;

/** A folder that is removed by \`remove\`. */
export class BenchFolder {
  readonly path = mkdtempSync(join(tmpdir(), 'nightbath-settings-'));
  readonly file = join(this.path, 'bench.toml');

  constructor(toml = benchToml) {
    this.write('bench.toml', toml);
    this.write('baths/trial-copper.toml', bathToml);
    this.write('dialects/trial-dialect.toml', 'name = "trial-dialect"\n');
  }

  write(name: string, content: string): string {
    const file = join(this.path, name);
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, content);
    return file;
  }

  load(toml?: string): LoadedSettings {
    if (toml !== undefined) this.write('bench.toml', toml);
    return loadSettings({ configPath: this.file, env: { HOME: this.path } });
  }

  /** The problems of a text that must not load. */
  refusals(toml: string): readonly SettingsProblem[] {
    try {
      this.load(toml);
    } catch (error) {
      if (error instanceof SettingsError) return error.problems;
      throw error;
    }
    throw new Error('These settings were expected to be refused.');
  }

  remove(): void {
    rmSync(this.path, { recursive: true, force: true });
  }
}
