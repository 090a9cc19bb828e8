/** The words of the settings file: the studio, the tanks, the supply on each, and who is told. */

import type { AlarmPriority } from '../run/model.ts';

/** How a tank's supply is reached. */
export type LinkSettings =
  | {
      readonly kind: 'serial';
      /** A stable path such as /dev/serial/by-id/…; looked up anew at each attempt. */
      readonly path: string;
      /** Null takes the dialect's own rate. */
      readonly baudRate: number | null;
    }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number }
  | { readonly kind: 'in-process' };

export interface RectifierSettings {
  /** `scpi`, or a path (absolute, or from the settings file) of a module with a driver of one's own. */
  readonly driver: string;
  /** Name of a dialect file without its ending. */
  readonly dialect: string;
  readonly link: LinkSettings;
  /** When set, a supply whose identity does not hold this text is refused. */
  readonly expectIdentity: string | null;
  /** Half width of the ammeter's range as a share of the reading, 0 to 0.2. */
  readonly meterUncertainty: number;
  /** What its output does when the mains comes back, as the maker saw it. */
  readonly afterMains?: 'off' | 'on' | 'unknown' | undefined;
  /** True current over the current that the supply shows, 0.8 to 1.25; left out, 1. */
  readonly ammeterFactor?: number | undefined;
}

/** How a sensor of the bath is reached. */
export type SensorLinkSettings =
  | { readonly kind: 'serial'; readonly path: string; readonly baudRate: number }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number };

/** A limit of a sensor, and what reaching it does. */
export interface SensorLimitSettings {
  readonly value: number;
  readonly action: 'alarm' | 'trip';
}

/** A second line beside the supply's, on which a thermometer or a level sensor sends numbers. */
export interface SensorSettings {
  readonly id: string;
  readonly name: string;
  readonly kind: 'temperature' | 'level';
  /** As it is shown: °C, mm, %. */
  readonly unit: string;
  readonly link: SensorLinkSettings;
  /** Value = number on the line x scale + offset. */
  readonly scale: number;
  readonly offset: number;
  readonly low: SensorLimitSettings | null;
  readonly high: SensorLimitSettings | null;
  readonly hysteresis: number;
  readonly staleAfterSeconds: number;
  /** What it does to a run when the sensor falls silent. */
  readonly missing: 'alarm' | 'trip';
}

export interface TankSettings {
  readonly id: string;
  readonly name: string;
  readonly bath: string;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
  /** Hard limits: no set-point above these ever reaches the supply. */
  readonly maxAmps: number;
  readonly maxVolts: number;
  readonly maxHours: number;
  /** Polls a second, 1 to 20; a slow dialect lowers it. */
  readonly pollHz: number;
  /** 1 to 2000; above 1 only with an in-process simulated supply. */
  readonly timeScale: number;
  readonly rectifier: RectifierSettings;
  /** Sensors of the bath; none where left out. */
  readonly sensors?: readonly SensorSettings[] | undefined;
}

/** Certificate and key by which the page speaks https. */
export interface TlsSettings {
  /** PEM; absolute paths. */
  readonly certFile: string;
  readonly keyFile: string;
  /** How long browsers are told to ask for nothing but https under this name, days; 0 tells nothing. */
  readonly hstsDays: number;
}

export interface WebSettings {
  /** Addresses beside those of this machine itself on which the page is served. */
  readonly listen: readonly string[];
  /** Names, in small letters, under which the page may be asked for beside its addresses. */
  readonly hostNames: readonly string[];
  /** Whether a browser on this machine has to sign in like any other. */
  readonly signInHere: boolean;
  /** Null serves plain http. */
  readonly tls: TlsSettings | null;
}

/** A text that is kept out of the settings file: in a variable of the environment, or in a file. */
export type SecretSource = { readonly environment: string } | { readonly file: string };
export type TextOrSecret = string | SecretSource;

interface AnyChannel {
  /** The name in lists and in the log; unlike that of any other channel. */
  readonly name: string;
  /** The least grave messages that are sent here. */
  readonly leastPriority: AlarmPriority;
}

export interface EmailChannel extends AnyChannel {
  readonly kind: 'email';
  readonly host: string;
  /** Null takes the usual one: 465, 587 or 25 by `security`. */
  readonly port: number | null;
  /** `none` sends in the clear, to this machine only where there is a password. */
  readonly security: 'tls' | 'starttls' | 'none';
  readonly user: string | null;
  readonly password: SecretSource | null;
  readonly from: string;
  readonly to: readonly string[];
  /** A certificate in PEM that is trusted beside the usual ones; for a mail server of one's own. */
  readonly certificateFile: string | null;
}

export interface WebhookChannel extends AnyChannel {
  readonly kind: 'webhook';
  readonly url: TextOrSecret;
  readonly format: 'text' | 'json';
  /** The body with its placeholders; null takes a plain one. */
  readonly body: string | null;
  readonly headers: Readonly<Record<string, TextOrSecret>>;
  /** What the placeholder {priority} becomes; null takes our own words. */
  readonly priorityWords: Readonly<Record<AlarmPriority, string>> | null;
}

export interface CommandChannel extends AnyChannel {
  readonly kind: 'command';
  /** Started as it is, without a shell. */
  readonly program: string;
  readonly arguments: readonly string[];
  /** 1 to 60; after that it is ended. */
  readonly timeoutSeconds: number;
}

/** The beeper of every supply that has one. */
export interface BeeperChannel extends AnyChannel {
  readonly kind: 'beeper';
}

export type ChannelSettings = EmailChannel | WebhookChannel | CommandChannel | BeeperChannel;

export interface AlertSettings {
  readonly channels: readonly ChannelSettings[];
  /** An address elsewhere that is called while all is well, and that itself calls a person when no call comes. */
  readonly deadMan: { readonly url: TextOrSecret } | null;
}

/** How the page shows figures; nothing that is counted or kept depends on it. */
export interface UnitSettings {
  readonly density: 'A/dm2' | 'A/ft2' | 'A/in2';
  readonly length: 'mm' | 'in';
  readonly wire: 'mm' | 'awg' | 'swg';
}

/** Copies of the log that are made without being asked for. */
export interface BackupSettings {
  readonly nightly: boolean;
  /** So many of the newest stay, 1 to 400. */
  readonly keep: number;
  /** Null is `backups` beside the log. */
  readonly folder: string | null;
}

export interface Settings {
  readonly studio: string;
  readonly server: {
    /** 0 lets the system choose. */
    readonly port: number;
  };
  readonly web: WebSettings;
  readonly units: UnitSettings;
  readonly database: {
    /** Null is the user's state folder. */
    readonly file: string | null;
  };
  readonly backups: BackupSettings;
  readonly alerts: AlertSettings;
  readonly tanks: readonly TankSettings[];
}
