"""Turning a view model into a page or a fragment: the one place that touches the template engine.

A template sees two names only: `view`, the frozen view model of its page, and `request`. A name that does not exist
is an error, not an empty string. Its own words stand in `{{ _("…") }}` or `{% trans %}`; texts, figures and days that a
view model brings are put into the reader's language where they are written out (`app.web.languages`).
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import jinja2
from jinja2 import pass_eval_context
from jinja2.nodes import EvalContext
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import Response
from starlette.templating import Jinja2Templates

from app.domain.words import Figure
from app.settings import PROJECT
from app.web import htmx
from app.web.languages import filled, language, shown, shown_text, translated

TEMPLATES = PROJECT / "templates"


def _environment(folder: Path) -> jinja2.Environment:
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder),
        autoescape=True,
        auto_reload=False,  # a template is read once: no look at the disk for every page
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        finalize=shown,
    )
    made.policies["ext.i18n.trimmed"] = True
    # As the extension's own "newstyle" callables, but values are put into the reader's language too.
    made.newstyle_gettext = True  # type: ignore[attr-defined]
    made.filters["capital"] = _capital
    made.filters["statement"] = _statement
    made.filters["decimal"] = _decimal
    made.filters["breakable"] = _breakable
    made.globals.update(_=_gettext, gettext=_gettext, ngettext=_ngettext, language=language)
    return made


def _capital(value: str) -> str:
    """A text as it begins a sentence."""
    said = shown_text(value)
    return said[:1].upper() + said[1:]


def _statement(value: str) -> str:
    """A question, such as "3F clean or under-rotated?", as a statement may hold it."""
    return shown_text(value).removesuffix("?").rstrip()


def _breakable(value: str) -> Markup:
    """A code, or several, that a narrow screen may break behind a plus."""
    return Markup(str(escape(shown_text(value))).replace("+", "+<wbr>"))  # escaped before


def _decimal(value: float) -> str:
    """A number in a field, with as few digits as it needs, as the reader writes it."""
    return shown_text(Figure(f"{value:g}"))


@pass_eval_context
def _gettext(context: EvalContext, message: str, /, **values: object) -> str:
    return _with_values(context, translated(message), values)


@pass_eval_context
def _ngettext(context: EvalContext, one: str, many: str, count: int, /, **values: object) -> str:
    return _with_values(context, translated(one, many, count), {"num": count, **values})


def _with_values(context: EvalContext, message: str, values: Mapping[str, object]) -> str:
    """Markup of a message is ours and stays; what is put into its places is escaped."""
    ready = Markup(message) if context.autoescape else message
    return ready % filled(values)


FRAGMENT_HEADERS: Mapping[str, str] = {"Vary": "HX-Request", "Cache-Control": "no-store"}
"""Of every page and fragment: it varies with the htmx headers, and nobody on the way keeps it."""
_templates = Jinja2Templates(env=_environment(TEMPLATES))
environment = _templates.env
"""The template environment, for filters a view package wants to add at import."""


def page(
    request: Request,
    template: str,
    view: object,
    *,
    fragment: str | None = None,
    status: int = 200,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Render `template` with `view`; when htmx asked for a part and `fragment` is given, render that instead.

    The answer varies with the htmx headers, so caches are told.
    """
    chosen = fragment if fragment is not None and htmx.wants_fragment(request) else template
    varied = {**FRAGMENT_HEADERS, **(headers or {})}
    return _templates.TemplateResponse(request, chosen, {"view": view}, status_code=status, headers=varied)


def text_of(template: str, view: object, request: Request | None = None) -> str:
    """A fragment as text, for server-sent events."""
    return environment.get_template(template).render(view=view, request=request)
