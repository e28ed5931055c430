import { describe, expect, it } from "vitest";
import { crc32 } from "../src/engine/crc32.ts";
import { FORM as NUMBERED, UnusableCompiledCall, readCompiledCall } from "../src/engine/compiled_call.ts";
import { rounded } from "../src/engine/expected.ts";
import { asModelled } from "../src/engine/catalog.ts";
import { numberWords } from "../src/words/event_words.ts";
import {
  isOutside,
  modelledPrint,
  percent,
  readNumber,
  spanWords,
  withPrint,
} from "../src/words/numbers.ts";
import { likeness } from "../src/words/symptoms.ts";

const FAHRENHEIT = { name: "degF", scale: 5 / 9, zero: 255.372222 };
const FORM = {
  unit: "degF",
  units: [FAHRENHEIT],
  factor: 1,
  offset: -273.15,
  low: 200,
  high: 400,
  over_limit: false,
};

describe("numbers", () => {
  it("are read in their unit and in SI", () => {
    expect(readNumber(FORM, " 50 ", FAHRENHEIT)).toEqual({
      value: 50,
      unit: "degF",
      siValue: 50 * FAHRENHEIT.scale + FAHRENHEIT.zero,
    });
    expect(readNumber(FORM, "50,5", FAHRENHEIT)).toMatchObject({ value: 50.5 });
    expect(readNumber(FORM, "\u22124", FAHRENHEIT)).toMatchObject({ value: -4 });
  });

  it.each(["", "warm", "1e5", "12 34", "--3", "900"])("%j is refused with words", (typed) => {
    const said = readNumber(FORM, typed, FAHRENHEIT);
    expect(typeof said).toBe("string");
    expect(said).toMatch(/[a-z]{3}/);
  });

  it("come with what is printed on the part, in the same unit", () => {
    const micro = { name: "\u00b5F", scale: 1e-6, zero: 0 };
    const nano = { name: "nF", scale: 1e-9, zero: 0 };
    const form = { ...FORM, unit: "\u00b5F", units: [micro, nano], factor: 1, offset: 0, low: 0, high: 1e-3 };
    const rated = { ...form, printed: 4e-5, printed_on: "the capacitor" };
    const entered = { value: 44, unit: "\u00b5F", siValue: 44e-6 };
    expect(modelledPrint(form, micro)).toBe("");
    expect(modelledPrint(rated, micro)).toBe("40");
    const whole = withPrint(rated, entered, "45000", nano);
    expect(whole).toEqual({ ...entered, printed: 45 });
    expect(withPrint(rated, entered, "", micro)).toMatch(/printed/);
    expect(withPrint(rated, entered, "0", micro)).toMatch(/printed/);
    expect(asModelled(rated, 44e-6, 44, 45)).toBeCloseTo((44 / 45) * 4e-5, 12);
    expect(asModelled(form, 44e-6, 44, 45)).toBe(44e-6);
    expect(numberWords(44, "\u00b5F", 45)).toBe("44 \u00b5F of 45 printed (98%)");
  });

  it("say their span", () => {
    expect(spanWords(FORM, FAHRENHEIT)).toBe("-99.7 to 260 degF");
  });

  it.each([
    [0.004, "0"],
    [1.234, "1.23"],
    [24.14, "24.1"],
    [240.4, "240"],
    [-0.001, "0"],
  ])("%d is worth %s", (value, words) => {
    expect(rounded(value)).toBe(words);
  });

  it("say shares at their ends", () => {
    expect([0, 0.004, 0.5, 0.999, 1].map(percent)).toEqual([
      "0%",
      "under 1%",
      "50%",
      "over 99%",
      "100%",
    ]);
  });
});

it("words are alike by their longest common subsequence", () => {
  expect(likeness("condenser", "condensor")).toBeCloseTo((200 * 8) / 18, 9);
  expect(likeness("", "")).toBe(100);
  expect(likeness("abc", "xyz")).toBe(0);
});

it("the check sum is that of the standard's own example", () => {
  // ISO 3309 / ITU-T V.42 check value of the nine digits, from memory.
  expect(crc32(new TextEncoder().encode("123456789"))).toBe(0xcbf43926);
});

describe("a compiled call that is none", () => {
  const head = (mark: string, form: number): ArrayBuffer => {
    const bytes = new Uint8Array(24);
    bytes.set(new TextEncoder().encode(mark));
    new DataView(bytes.buffer).setUint32(8, form, true);
    return bytes.buffer;
  };
  it.each([
    ["too short", new ArrayBuffer(3), /not a compiled call/, /Load the call again/],
    ["something else", head("SOMETHNG", NUMBERED), /not a compiled call/, /Load the call again/],
    ["newer", head("CATCHPAN", NUMBERED + 1), /newer catchpan/, /updates itself/],
    ["older", head("CATCHPAN", NUMBERED - 1), /older catchpan/, /Load the call again/],
    ["cut off", head("CATCHPAN", NUMBERED), /cut off or damaged/, /Load the call again/],
  ])("%s: refused with a way out", (_, bytes, problem, wayOut) => {
    try {
      readCompiledCall(bytes);
      expect.unreachable();
    } catch (error) {
      expect(error).toBeInstanceOf(UnusableCompiledCall);
      expect((error as UnusableCompiledCall).message).toMatch(problem);
      expect((error as UnusableCompiledCall).wayOut).toMatch(wayOut);
    }
  });
});

describe("numbers with their unit and numbers that are odd", () => {
  const volts = { name: "V", scale: 1, zero: 0, spellings: ["volt", "volts", "Vac"] };
  const form = {
    unit: "V",
    units: [volts, { name: "mV", scale: 0.001, zero: 0, spellings: [] }],
    factor: 1,
    offset: 0,
    low: 0,
    high: 1000,
    over_limit: false,
  };

  it.each([
    ["237 V", 237, "V"],
    ["237volts", 237, "V"],
    ["24.1 v ac", 24.1, "V"],
    ["30 mV", 30, "mV"],
  ])("%j is taken", (typed, value, unit) => {
    expect(readNumber(form, typed, volts)).toMatchObject({ value, unit });
  });

  it.each(["237 A", "-5", "-5 V", "V"])("%j is refused with words", (typed) => {
    expect(typeof readNumber(form, typed, volts)).toBe("string");
  });

  it("are asked back outside what is to be expected, and only there", () => {
    const entered = (value: number) => ({ value, unit: "V", siValue: value });
    const outside = [20, 23, 30, 31].map((value) => isOutside(form, [22, 30], entered(value)));
    expect(outside).toEqual([true, false, false, true]);
  });
});
