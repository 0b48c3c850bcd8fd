"""Read a DXF file strictly with ezdxf, audit it, and print what it holds as JSON.

usage: dxfaudit.py FILE.  Needs python3 with ezdxf (Debian: python3-ezdxf).
"""
import json
import sys

import ezdxf

doc = ezdxf.readfile(sys.argv[1])  # strict: no recovery
audit = doc.audit()
out = {
    "version": doc.dxfversion,
    "units": doc.header["$INSUNITS"],
    "metric": doc.header["$MEASUREMENT"],
    "extmin": list(doc.header["$EXTMIN"]),
    "extmax": list(doc.header["$EXTMAX"]),
    "errors": [str(e.message) for e in audit.errors],
    "fixes": [str(e.message) for e in audit.fixes],
    "layers": [layer.dxf.name for layer in doc.layers],
    "plot": [layer.dxf.name for layer in doc.layers if layer.dxf.plot],
    "paper": sum(len(doc.layout(n)) for n in doc.layout_names() if n != "Model"),
    "entities": [],
}
for e in doc.modelspace():
    item = {"type": e.dxftype(), "layer": e.dxf.layer}
    if e.dxftype() == "CIRCLE":
        item["points"] = [[e.dxf.center.x, e.dxf.center.y, e.dxf.radius]]
    elif e.dxftype() == "LWPOLYLINE":
        item["closed"] = bool(e.closed)
        item["points"] = [list(p) for p in e.get_points("xyb")]
    out["entities"].append(item)
json.dump(out, sys.stdout)
