"""Labels made up to do harm where a text is taken for markup, a formula or a command."""

from __future__ import annotations

DATE = "2026-01-31"
HOSTILE = {
    "Script": "<script>document.title='taken'</script> clamp",
    "Image": '"><img src=x onerror=alert(1)> clamp',
    "Quotes": "quotation ' \" & &lt;b&gt; clamp",
    "Formula": '=HYPERLINK("http://example.invalid","here") clamp',
    "Plus": "+1+cmd|'/C calc'!A0 clamp",
    "Minus": "-2+3 clamp",
    "At": "@SUM(1+1) clamp",
    "Escape": "\x1b[31mred\x1b[0m\x07 clamp",
    "RightToLeft": "\u202egpj.exe\u202c clamp",
    "Hebrew": "מלקחיים clamp",
    "Combining": "e" + "\u0301" * 40 + " clamp",
    "Markup": "*bold* _x_ [link](javascript:alert(1)) | cell ` code <https://example.invalid> clamp",
    "Typesetting": '#panic("no") $x^2$ @ref <label> \\ = clamp',
    "Nothing": "zero\u200bwidth\u2028line\u0000nul clamp",
}
"""Local name -> label."""
