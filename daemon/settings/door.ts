/** The door to the settings: what the other houses may ask of them. */

export { loadSettings } from './load.ts';
export type { LoadedSettings } from './load.ts';
export { didYouMean, SettingsError } from './problems.ts';
export type { SettingsProblem } from './problems.ts';
export { dialectNames, loadBaths, loadDialect } from './libraries.ts';
export { loadMaterials } from './materials.ts';
export {
  alertSpoolFile,
  controlSocketPath,
  backupFolder,
  databaseFile,
  guestVariable,
  guardBookFile,
  packageRoot,
  passphraseFile,
  sentinelNoteFile,
  sessionFile,
  stateFolder,
  userConfigFolders,
} from './places.ts';
export { fillTemplate } from './template.ts';
export type { Filling } from './template.ts';
export { settingsSchema } from './schema.ts';
export { hashPassphrase, matchesPassphrase, passphraseProblem } from './passphrase-hash.ts';
export { readPassphrases, writePassphrases, writePrivateFile } from './passphrases.ts';
export type { Passphrases } from './passphrases.ts';
export { needsPassphrase, readTls, requirePassphrase, tlsWarning } from './network.ts';
export type { TlsPair } from './network.ts';
export { EditRefused } from './edit/changes.ts';
export type { TomlChange } from './edit/changes.ts';
export { readEditable, saveSettings, SettingsConflict } from './edit/save.ts';
export { changeWatch } from './change-watch.ts';
export { readEditableBath, saveBath } from './edit/save-bath.ts';
