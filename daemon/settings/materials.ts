/** The table of materials: the one shipped with the package, and the maker's own rows beside bench.toml. */

import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { Material } from '../piece/material.ts';
import { materialsProblems } from '../piece/materials.ts';
import { materialSchema, materialsFileSchema } from '../wire/materials.ts';
import { findSettingsFile } from './find.ts';
import { lineOfKey } from './lines.ts';
import { packageRoot } from './places.ts';
import { pathOfKey, SettingsError } from './problems.ts';
import { problemsFromIssues, readTomlFile } from './toml.ts';

const fileName = 'materials.toml';

const materialKeys: Readonly<Record<string, readonly string[]>> = {
  '': Object.keys(materialsFileSchema.shape),
  'materials[]': Object.keys(materialSchema.shape),
  'materials[].mohs': ['low', 'high'],
};

/**
 * The shipped table with the rows of a materials.toml beside the maker's settings, which win over
 * shipped ones of the same id and stand after them otherwise. Throws a SettingsError for a file that
 * is not a sound table.
 */
export function loadMaterials(
  env: NodeJS.ProcessEnv = process.env,
  settingsFile?: string,
): readonly Material[] {
  const shipped = join(packageRoot(), 'config', fileName);
  const own = join(dirname(settingsFile ?? findSettingsFile({ env }).file), fileName);
  const rows = readMaterials(shipped);
  if (own === shipped || !existsSync(own)) return rows;
  const ownRows = readMaterials(own);
  const ownById = new Map(ownRows.map((row) => [row.id, row]));
  const known = new Set(rows.map(({ id }) => id));
  return [
    ...rows.map((row) => ownById.get(row.id) ?? row),
    ...ownRows.filter(({ id }) => !known.has(id)),
  ];
}

function readMaterials(file: string): readonly Material[] {
  const source = readTomlFile(file);
  const result = materialsFileSchema.safeParse(source.value);
  if (!result.success) {
    throw new SettingsError(problemsFromIssues(source, result.error.issues, materialKeys));
  }
  const { materials } = result.data;
  const problems = materialsProblems(materials).map((problem) => ({
    ...problem,
    file,
    line: lineOfKey(source.text, pathOfKey(problem.field)),
  }));
  if (problems.length > 0) throw new SettingsError(problems);
  return materials;
}
