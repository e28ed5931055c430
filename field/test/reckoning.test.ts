/** The small parts of the reckoning, against known numbers. */

import { describe, expect, it } from "vitest";
import { invert, square } from "../src/engine/covariance.ts";
import { erfRounded } from "../src/engine/erf.ts";
import { logOfBoth } from "../src/engine/family.ts";
import { measuredCapacities } from "../src/engine/measured_capacity.ts";
import { told } from "../src/engine/panel.ts";
import { fixed, nearestEven } from "../src/engine/rounding.ts";
import { SaturationChart, interpolated } from "../src/engine/saturation_chart.ts";

describe("the error function", () => {
  // Abramowitz and Stegun, Handbook of Mathematical Functions, table 7.1
  it.each([
    [0, 0],
    [0.5, 0.5204998778],
    [1, 0.8427007929],
    [2, 0.995322265],
    [-1, -0.8427007929],
  ])("of %d is %d", (at, wanted) => {
    expect(erfRounded(at)).toBeCloseTo(wanted, 10);
  });

  it("rounds what it is asked for to four places, ties to the even one", () => {
    expect(erfRounded(0.30001)).toBe(erfRounded(0.3));
    expect(erfRounded(1 / 16 + 2 ** -30)).toBe(erfRounded(0.0625));
    expect(erfRounded(9)).toBe(erfRounded(6));
    expect(erfRounded(-Infinity)).toBe(-erfRounded(6));
  });
});

describe("rounding", () => {
  it("takes the even one of two equally near", () => {
    expect([0.5, 1.5, 2.5, -0.5, -1.5].map(nearestEven)).toEqual([0, 2, 2, 0, -2]);
  });

  it("writes as Python does", () => {
    expect(fixed(0.5, 0)).toBe("0");
    expect(fixed(2.5, 0)).toBe("2");
    expect(fixed(3.5, 0)).toBe("4");
    expect(fixed(0.125, 2)).toBe("0.12");
    expect(fixed(0.375, 2)).toBe("0.38");
    expect(fixed(1.45, 1)).toBe("1.4");
    expect(fixed(-0.04, 1)).toBe("0.0");
    expect(fixed(-2.5, 0)).toBe("-2");
  });
});

describe("a covariance", () => {
  it("is inverted, with the log of its determinant", () => {
    const matrix = Float64Array.from([4, 2, 0.6, 2, 3, 0.4, 0.6, 0.4, 2]);
    const inverse = matrix.slice();
    const determinant = 4 * (3 * 2 - 0.16) - 2 * (2 * 2 - 0.24) + 0.6 * (0.8 - 1.8);
    expect(Math.exp(invert(inverse, 3))).toBeCloseTo(determinant, 12);
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        let sum = 0;
        for (let k = 0; k < 3; k++) sum += matrix[i * 3 + k]! * inverse[k * 3 + j]!;
        expect(sum).toBeCloseTo(i === j ? 1 : 0, 12);
      }
    }
    expect(square(matrix, Float64Array.from([1, -1, 2]))).toBeCloseTo(4 - 4 + 2.4 + 3 - 1.6 + 8, 12);
  });
});

describe("the weather", () => {
  it("lies between what was expected and what was read, by their spreads", () => {
    const usual = { mean: Float64Array.from([300, 297, 291]), spread: Float64Array.from([3, 2, 2]) };
    const after = told(usual, 0, 306, 3);
    expect(after.mean[0]).toBeCloseTo(303, 12);
    expect(after.spread[0]).toBeCloseTo(3 / Math.SQRT2, 12);
    expect([after.mean[1], after.spread[1]]).toEqual([297, 2]);
    expect(usual.mean[0]).toBe(300);
  });
});

describe("a saturation chart", () => {
  const pressure = Float64Array.from({ length: 50 }, (_, i) => 2e5 * 1.06 ** i);
  const dew = pressure.map((p) => 20 * Math.log(p));
  const chart = new SaturationChart("R-0", pressure, dew, dew.map((t) => t - 1), 101_325);

  it("goes to a temperature and back", () => {
    const { at, slope } = chart.temperature(5e5, "dew");
    expect(at).toBeCloseTo(20 * Math.log(601_325), 9);
    expect(slope).toBeCloseTo(20 / 601_325, 12);
    const back = chart.gaugePa(at, "dew");
    expect(back.at).toBeCloseTo(5e5, 3);
    expect(back.slope * slope).toBeCloseTo(1, 3);
    expect(chart.temperature(5e5, "bubble").at).toBeCloseTo(at - 1, 9);
  });

  it("stays as it is beyond its ends", () => {
    expect(chart.temperature(-1e5, "dew").at).toBe(dew[0]);
    expect(interpolated(9, Float64Array.from([1, 2]), [5, 6])).toBe(6);
  });
});

it("adds chances that are kept as logs", () => {
  expect(logOfBoth(Math.log(0.2), Math.log(0.3))).toBeCloseTo(Math.log(0.5), 14);
  expect(logOfBoth(-Infinity, -Infinity)).toBe(-Infinity);
  expect(logOfBoth(-2000, -2000)).toBeCloseTo(-2000 + Math.LN2, 10);
});

describe("a capacity by the airflow", () => {
  // The same readings in Python: tests/diagnosis/test_todays_targets.py
  it("is as Python has it", () => {
    const air = [299.82, 294.82, 288.71, 288.15].map((value) => ({ value, spread: 0.4 }));
    const found = measuredCapacities([...air, { value: 0.5663, spread: 0.0453 }], false);
    expect(found?.[0].value).toBeCloseTo(14355.650671, 5);
    expect(found?.[0].spread).toBeCloseTo(1703.630475, 5);
    expect(found?.[1].value).toBeCloseTo(7750.395151, 5);
    expect(found?.[1].spread).toBeCloseTo(735.832716, 5);
  });
});
