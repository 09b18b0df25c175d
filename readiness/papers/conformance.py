"""What WeasyPrint leaves out of a PDF that is both PDF/A-3 and PDF/UA-1.

WeasyPrint writes one standard's identification; this adds the other's. It tags running heads as
content that belongs to no element; PDF/UA-1 (ISO 14289-1, 7.1) wants them marked as artifacts.
"""

UA_NAMESPACE = "http://www.aiim.org/pdfua/ns/id/"


def conform(document, pdf) -> None:
    """Finisher of `Document.write_pdf`: called with the document and its pydyf.PDF."""
