"""Redraw the assembled jig on its table as SVG, from record.json alone: redraw.py record.json > jig.svg"""
import json
import math
import sys

rec = json.load(open(sys.argv[1], encoding="ascii"))
assert rec["format"] == "spotjig-record/4"
L, W = rec["job"]["table"]["l"], rec["job"]["table"]["w"]

def circle(kind, colour, x, y, r):
    print(f'<circle class="{kind}" cx="{x:.6f}" cy="{y:.6f}" r="{r:.6f}" stroke="{colour}"/>')

def chain(kind, colour, points, shut=False):  # points are [x, y, bulge]
    d = f"M{points[0][0]:.6f},{points[0][1]:.6f}"
    for (x, y, b), (u, v, _) in zip(points, points[1:] + points[:1] if shut else points[1:]):
        r = math.hypot(u - x, v - y) / 4 * (1 / abs(b) + abs(b)) if b else 0
        d += f"A{r:.6f},{r:.6f} 0 0 {int(b > 0)} {u:.6f},{v:.6f}" if b else f"L{u:.6f},{v:.6f}"
    print(f'<path class="{kind}" d="{d}{"Z" if shut else ""}" stroke="{colour}"/>')

def arc(x, y, r, a, b):  # counter-clockwise, in two halves
    at = lambda deg: [x + r * math.cos(math.radians(deg)), y + r * math.sin(math.radians(deg)), math.tan(math.radians(b - a) / 8)]
    return [at(a), at((a + b) / 2), at(b)]

# Table frame, mm, +y up: SVG's y runs down, so the whole drawing is flipped.
print(f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-20 {-W/2-20} {L+40} {W+40}" fill="none" stroke-width="1">')
print(f'<g transform="scale(1,-1)"><rect x="0" y="{-W/2}" width="{L}" height="{W}" stroke="green"/>')
for p in rec["parts"]:
    t, up = p["on_table"], p["on_table"]["upright"]  # an upright part is seen edge on
    c, s = math.cos(math.radians(t["turn_deg"])), math.sin(math.radians(t["turn_deg"]))
    put = lambda q: [c * q[0] - (not up) * s * q[1] + t["x"], s * q[0] + (not up) * c * q[1] + t["y"], q[2] * (not up)]
    chain("part", "black", [put(q) for q in p["outline"]], True)
    for o in [] if up else p["openings"]:
        if "cx" in o:
            chain("opening", "blue", [put(q) for q in arc(o["cx"], o["cy"], o["r"], o["start_deg"], o["end_deg"])])
        elif "x1" in o:
            chain("opening", "blue", [put([o["x1"], o["y1"], 0]), put([o["x2"], o["y2"], 0])])
        else:
            circle("opening", "blue", *put([o["x"], o["y"], 0])[:2], o["r"])
for m in rec["marks"]:
    if m["kind"] == "spot":
        circle("mark", "red", m["x"], m["y"], 1)
    elif m["kind"] == "arc":
        chain("mark", "red", arc(m["x"], m["y"], m["radius"], m["start_deg"], m["end_deg"]))
    else:
        chain("mark", "red", [[x, y, 0] for x, y in m["points"] or [[m["x"], m["y"]], [m["x2"], m["y2"]]]], m["kind"] == "outline")
print("</g></svg>")
