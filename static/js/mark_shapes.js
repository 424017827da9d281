// The shapes of marks as SVG, as inspections/drawings/marks.py draws them at weight 1. Pure: no page, no state.
const INK = "#16242c";
const FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif";
const [LETTER, STROKE, HALO, TICK, BARB, LETTERS, PAD] = [0.56, 7, 15, 18, 46, 40, 12];
const BARB_ANGLE = (27 * Math.PI) / 180;

const ends = (mark, width, height) => {
  const start = [mark.x1 * width, mark.y1 * height];
  return [start, "x2" in mark ? [mark.x2 * width, mark.y2 * height] : start];
};
const polyline = (...points) => `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
const direction = (start, end) => Math.atan2(end[1] - start[1], end[0] - start[0]);

const ellipse = (one, other) => {
  const [rx, ry] = [Math.abs(other[0] - one[0]) / 2, Math.abs(other[1] - one[1]) / 2];
  const [left, y] = [Math.min(one[0], other[0]), (one[1] + other[1]) / 2];
  const arc = `A${rx.toFixed(1)} ${ry.toFixed(1)} 0 1 1`;
  return `M${left.toFixed(1)} ${y.toFixed(1)}${arc} ${(left + 2 * rx).toFixed(1)} ${y.toFixed(1)}${arc} ${left.toFixed(1)} ${y.toFixed(1)}Z`;
};
const barbs = (start, end) => {
  const angle = direction(start, end);
  const side = (turn) => [end[0] - BARB * Math.cos(angle + turn), end[1] - BARB * Math.sin(angle + turn)];
  return polyline(side(BARB_ANGLE), end, side(-BARB_ANGLE));
};
const tick = (start, end, at) => {
  const angle = direction(start, end) + Math.PI / 2;
  const [dx, dy] = [TICK * Math.cos(angle), TICK * Math.sin(angle)];
  return polyline([at[0] - dx, at[1] - dy], [at[0] + dx, at[1] + dy]);
};

export const shape = (mark, width, height) => {
  if (mark.kind === "text") return "";
  const [start, end] = ends(mark, width, height);
  const outline = mark.kind === "circle" ? ellipse(start, end)
    : mark.kind === "arrow" ? polyline(start, end) + barbs(start, end)
      : polyline(start, end) + tick(start, end, start) + tick(start, end, end);
  const joined = `d="${outline}" fill="none" stroke-linecap="round" stroke-linejoin="round"`;
  return `<path ${joined} stroke="#ffffff" stroke-width="${HALO}"/><path ${joined} stroke="${INK}" stroke-width="${STROKE}"/>`;
};

const wrapped = (text, most) => {
  const lines = [];
  let line = "";
  for (const word of text.split(" ")) {
    if (line && line.length + 1 + word.length > most) {
      lines.push(line);
      line = word;
    } else line = line ? `${line} ${word}` : word;
  }
  return [...lines, line];
};
const centre = (mark, width, height, plateWidth, plateHeight) => {
  const [start, end] = ends(mark, width, height);
  const middle = (start[0] + end[0]) / 2;
  if (mark.kind === "circle") return [middle, Math.max(start[1], end[1]) + plateHeight / 2 + HALO];
  if (mark.kind !== "line") return start;
  const isAcross = Math.hypot(end[0] - start[0], end[1] - start[1]) > plateWidth + 4 * TICK;
  return [middle, (start[1] + end[1]) / 2 + (isAcross ? 0 : plateHeight / 2 + 1.5 * TICK)];
};
const escaped = (text) => text.replace(/[&<>"']/g, (letter) => `&#${letter.charCodeAt(0)};`);
const between = (value, least, most) => Math.min(Math.max(value, least), most);

export const plate = (mark, width, height) => {
  const lines = wrapped(mark.text, Math.max(8, Math.trunc((0.8 * width) / (LETTER * LETTERS))));
  const plateWidth = Math.min(Math.max(...lines.map((line) => line.length)) * LETTER * LETTERS + 2 * PAD, width);
  const plateHeight = lines.length * LETTERS * 1.2 + PAD;
  let [x, y] = centre(mark, width, height, plateWidth, plateHeight);
  x = between(x, plateWidth / 2, width - plateWidth / 2);
  y = between(y, plateHeight / 2, height - plateHeight / 2);
  const top = y - plateHeight / 2;
  const text = lines.map((line, place) => `<text x="${x.toFixed(1)}" y="${(top + PAD / 2 + (place + 0.8) * LETTERS * 1.2).toFixed(1)}" fill="${INK}" font-family="${FONT}" font-size="${LETTERS}" font-weight="600" text-anchor="middle">${escaped(line)}</text>`).join("");
  return `<rect x="${(x - plateWidth / 2).toFixed(1)}" y="${top.toFixed(1)}" width="${plateWidth.toFixed(1)}" height="${plateHeight.toFixed(1)}" fill="#ffffff" stroke="${INK}" stroke-width="2"/>${text}`;
};
