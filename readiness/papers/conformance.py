"""What WeasyPrint 70 leaves to do for a PDF that is both PDF/A-3u and PDF/UA-1.

Measured on its output (clauses from memory: ISO 14289-1 and ISO 19005-3):

- it writes the identification of one standard only; the other's goes into the same metadata, with
  the extension schema that PDF/A asks for;
- an attached file is listed twice as associated;
- running heads are tagged, but belong to no element: they have to be artifacts (14289-1, 7.1);
- table headers have no scope (7.5);
- a figure's box is in CSS pixels from the top: it has to be in points from the bottom;
- working out the file's identifier takes a copy of every photo: ours comes from the content.
"""

import hashlib

import pydyf

READ_IN = "70.0"
"""The version of WeasyPrint whose output was measured."""
PIXEL_IN_POINTS = 0.75

_UA = b"""<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">\
<pdfuaid:part>1</pdfuaid:part></rdf:Description>\
<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" \
xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" \
xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"><pdfaExtension:schemas><rdf:Bag>\
<rdf:li rdf:parseType="Resource">\
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>\
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>\
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq>\
<rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>\
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>\
<pdfaProperty:category>internal</pdfaProperty:category>\
<pdfaProperty:description>Part of ISO 14289 that the document follows</pdfaProperty:description>\
</rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas>\
</rdf:Description></rdf:RDF>"""


class Conforming:
    """The finisher of one paper: call it from `Document.write_pdf`, then `identify` the file."""

    def __init__(self):
        self.pdf = None

    def __call__(self, document, pdf) -> None:
        self.pdf = pdf
        _identify_both_standards(pdf)
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(pdf.catalog["AF"]))
        root = _object(pdf, pdf.catalog["StructTreeRoot"])
        belongs = _Belonging(pdf, _object(pdf, root["K"][0]))
        for page, numbers in _pages(pdf, _object(pdf, root["ParentTree"])["Nums"]):
            _turn_into_artifacts(pdf, page, numbers, belongs)
        for element in pdf.objects:
            if isinstance(element, pydyf.Dictionary) and "A" in element:
                _scope(pdf, element)
                _box_in_points(pdf, element)

    def identify(self, file, content: bytes) -> None:
        """Give the file its /ID, worked out from `content`; `file` is open for writing."""
        digest = hashlib.sha256(content).hexdigest()[:32]
        table = self.pdf.objects[-1]
        table.extra["ID"] = pydyf.Array([f"<{digest}>", f"<{digest}>"])
        file.seek(self.pdf.xref_position)
        file.truncate()
        file.write(table.indirect + f"\nstartxref\n{self.pdf.xref_position}\n%%EOF\n".encode())


class _Belonging:
    """Tells whether an element hangs in the document's tree; each chain is climbed once."""

    def __init__(self, pdf, document):
        self._pdf, self._document = pdf, document
        self._top = set(document["K"])
        self._known: dict[bytes, bool] = {}

    def __call__(self, reference: bytes) -> bool:
        if reference not in self._known:
            parent = _object(self._pdf, reference)["P"]
            self._known[reference] = (
                reference in self._top if parent == self._document.reference else self(parent)
            )
        return self._known[reference]


def _object(pdf, reference: bytes):
    return pdf.objects[int(reference.split()[0])]


def _identify_both_standards(pdf) -> None:
    metadata = _object(pdf, pdf.catalog["Metadata"])
    metadata.stream = [part.replace(b"</rdf:RDF>", _UA) for part in metadata.stream]
    metadata.compress = False


def _pages(pdf, nums):
    """Each page with its array of elements by number of marked content."""
    for index, number in enumerate(pdf.pages["Kids"][::3]):
        yield pdf.objects[number], nums[2 * index + 1]


def _turn_into_artifacts(pdf, page, numbers, belongs: _Belonging) -> None:
    """Mark what no element of the document holds as an artifact, and forget its elements."""
    loose = {mcid for mcid, element in enumerate(numbers) if not belongs(element)}
    if not loose:
        return
    content = _object(pdf, page["Contents"]).stream
    kept: list = []
    for part in content:
        if isinstance(part, pydyf.Dictionary) and part.get("MCID") in loose:
            kept[-1] = "/Artifact"
        elif part == b"BDC" and kept[-1] == "/Artifact":
            kept.append(b"BMC")
        else:
            kept.append(part)
    content[:] = kept
    for mcid in loose:
        numbers[mcid] = "null"


def _scope(pdf, element) -> None:
    """A header in the table's head is for its column, one in the body for its row."""
    if element.get("S") != "/TH":
        return
    row = _object(pdf, element["P"])
    group = _object(pdf, row["P"])
    element["A"]["Scope"] = "/Column" if group["S"] == "/THead" else "/Row"


def _box_in_points(pdf, element) -> None:
    if element.get("S") != "/Figure":
        return
    page = _object(pdf, element["Pg"])
    left, top, right, bottom = (float(side) * PIXEL_IN_POINTS for side in element["A"]["BBox"])
    height = page["MediaBox"][3]
    element["A"]["BBox"] = pydyf.Array([left, height - bottom, right, height - top])
