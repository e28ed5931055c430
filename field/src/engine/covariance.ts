/** Small symmetric matrices, row after row, as covariances are. */

/** Puts the inverse in the matrix's place; returns the log of its determinant. */
export function invert(matrix: Float64Array, size: number): number {
  const lower = rootOf(matrix, size);
  let logs = 0;
  for (let i = 0; i < size; i++) logs += 2 * Math.log(lower[i * size + i]!);
  const column = new Float64Array(size);
  for (let k = 0; k < size; k++) {
    for (let i = 0; i < size; i++) {
      let sum = i === k ? 1 : 0;
      for (let j = 0; j < i; j++) sum -= lower[i * size + j]! * column[j]!;
      column[i] = sum / lower[i * size + i]!;
    }
    for (let i = size - 1; i >= 0; i--) {
      let sum = column[i]!;
      for (let j = i + 1; j < size; j++) sum -= lower[j * size + i]! * column[j]!;
      column[i] = sum / lower[i * size + i]!;
    }
    for (let i = 0; i < size; i++) matrix[i * size + k] = column[i]!;
  }
  return logs;
}

/** The lower triangle whose product with its own mirror image is the matrix. */
function rootOf(matrix: Float64Array, size: number): Float64Array {
  const lower = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * size + j]!;
      for (let k = 0; k < j; k++) sum -= lower[i * size + k]! * lower[j * size + k]!;
      lower[i * size + j] = i === j ? Math.sqrt(sum) : sum / lower[j * size + j]!;
    }
  }
  return lower;
}

/** A vector times the matrix times the same vector. */
export function square(matrix: Float64Array, vector: Float64Array): number {
  const size = vector.length;
  let sum = 0;
  for (let i = 0; i < size; i++) {
    let row = 0;
    for (let j = 0; j < size; j++) row += matrix[i * size + j]! * vector[j]!;
    sum += vector[i]! * row;
  }
  return sum;
}
