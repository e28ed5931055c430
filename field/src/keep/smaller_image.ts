/** Photos made small enough to keep and to send; drawn anew, so nothing but the picture is left. */

const LONGEST = 1600;
const QUALITY = 0.82;

/** The image as a JPEG of at most LONGEST pixels a side; rejects where the file is no image. */
export async function smaller(file: Blob): Promise<Blob> {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((resolve, reject) => {
    canvas.toBlob(
      (blob) => (blob === null ? reject(new Error("no image")) : resolve(blob)),
      "image/jpeg",
      QUALITY,
    );
  });
}
