"""What LibreOffice reads about the cell functions, written from the registry: types, texts, contents of the extension.

Sources: LibreOffice Developer's Guide, chapters "Spreadsheet Add-Ins" and "Extensions"; LibreOffice's configuration
schema org.openoffice.Office.CalcAddIns.
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from growcells import CellFunction
from growcells.cells.arguments import Argument

from .component import IMPLEMENTATION, SERVICE, method_name
from .opening import OPENING_IMPLEMENTATION, OPENING_SERVICE

IDENTIFIER = "org.growcells"
"""The name by which LibreOffice keeps the extension; were it to change, an upgrade would install a second one."""

TYPES_FILE = "growcells.idl"
COMPONENTS_FILE = "growcells.components"
CONFIGURATION_FILE = "CalcAddIns.xcu"
EVENTS_FILE = "Events.xcu"
BASIC_LIBRARY = "growcells"
"""Also the folder that holds it, after which LibreOffice names it."""

BASIC_MODULE = "Events"
BASIC_FILE = f"{BASIC_LIBRARY}/{BASIC_MODULE}.xba"
COMPONENT_FILE = "component.py"
OPENING_FILE = "opening.py"
PROBE_FILE = "probe.py"
MANIFEST_FILE = "META-INF/manifest.xml"
DESCRIPTION_FILE = "description.xml"

# LibreOffice knows its own categories only, so that the family stands at the head of the help text instead.
CATEGORY = "Add-In"

LANGUAGE = "en"
"""LibreOffice shows these texts in every language of its own, as there are no others."""


def type_library(functions: Iterable[CellFunction]) -> str:
    """The UNOIDL text of the interface with one method for each function.

    Every argument is an ``any``, since only that can be left out. Every result is rows of cells, since a Python
    component cannot hand over rows as an ``any``; a formula takes the single cell of a row as the plain value.
    """
    methods = "".join(f"    {_method(function)};\n" for function in functions)
    return f"module growcells {{\n  interface XFunctions {{\n{methods}  }};\n}};\n"


def _method(function: CellFunction) -> str:
    parameters = ", ".join(
        f"[in] {'sequence<any>' if argument.repeated else 'any'} {parameter_name(argument)}"
        for argument in function.arguments
    )
    return f"sequence< sequence<any> > {method_name(function.name)}({parameters})"


def parameter_name(argument: Argument) -> str:
    """The name of a parameter inside LibreOffice, which can never be a word of UNOIDL such as ``in``."""
    return method_name(f"cell_{argument.name}")


def configuration(functions: Iterable[CellFunction]) -> str:
    """CalcAddIns.xcu: the names in formulas and files, and the texts of the function wizard."""
    root = _configuration_root("CalcAddIns")
    described = _node(_entry(_node(root, "AddInInfo"), SERVICE), "AddInFunctions")
    for function in functions:
        entry = _entry(described, method_name(function.name))
        _translated(entry, "DisplayName", function.name)
        _translated(entry, "Description", f"{function.family}: {function.help}")
        SubElement(_property(entry, "Category"), "value").text = CATEGORY
        _translated(entry, "CompatibilityName", function.name)
        parameters = _node(entry, "Parameters")
        for argument in function.arguments:
            parameter = _entry(parameters, parameter_name(argument))
            _translated(parameter, "DisplayName", argument.name)
            _translated(parameter, "Description", argument_help(argument))
    return _document(root)


def argument_help(argument: Argument) -> str:
    """The help of an argument; LibreOffice calls every ``any`` optional, so that the text says which is not."""
    return f"Required: {argument.help}" if argument.required else argument.help


def events() -> str:
    """Events.xcu: what of the Basic library is called when LibreOffice has started, and when it has read a file."""
    root = _configuration_root("Events")
    bindings = _node(_node(root, "ApplicationEvents"), "Bindings")
    for event, procedure in (("OnStartApp", "Started"), ("OnLoadFinished", "Opened")):
        binding = _entry(bindings, event)
        place = f"{BASIC_LIBRARY}.{BASIC_MODULE}.{procedure}?language=Basic&location=application"
        SubElement(_property(binding, "BindingURL"), "value").text = f"vnd.sun.star.script:{place}"
    return _document(root)


def basic_library(*modules: str) -> str:
    """script.xlb: the modules of the Basic library; dialog.xlb is the same for its dialogs, and has to be there."""
    namespace = "http://openoffice.org/2000/library"
    names = {"library:name": BASIC_LIBRARY, "library:readonly": "true", "library:passwordprotected": "false"}
    root = Element("library:library", {"xmlns:library": namespace} | names)
    for module in modules:
        SubElement(root, "library:element", {"library:name": module})
    return _document(root)


def basic_module(code: str) -> str:
    """A module of Basic as LibreOffice keeps it."""
    names = {"script:name": BASIC_MODULE, "script:language": "StarBasic", "script:moduleType": "normal"}
    root = Element("script:module", {"xmlns:script": "http://openoffice.org/2000/script"} | names)
    root.text = code
    return _document(root)


def components() -> str:
    """The registration of the two components, which spares LibreOffice running them at installation."""
    root = Element("components", {"xmlns": "http://openoffice.org/2010/uno-components"})
    for file, implementation, service in (
        (COMPONENT_FILE, IMPLEMENTATION, SERVICE),
        (OPENING_FILE, OPENING_IMPLEMENTATION, OPENING_SERVICE),
    ):
        component = SubElement(root, "component", {"loader": "com.sun.star.loader.Python", "uri": file})
        SubElement(SubElement(component, "implementation", {"name": implementation}), "service", {"name": service})
    return _document(root)


def description(version: str, oldest_office: str) -> str:
    """description.xml: identifier, version, the LibreOffice that is needed, the name that people see."""
    root = Element(
        "description",
        {
            "xmlns": "http://openoffice.org/extensions/description/2006",
            "xmlns:d": "http://openoffice.org/extensions/description/2006",
            "xmlns:l": "http://libreoffice.org/extensions/description/2011",
        },
    )
    SubElement(root, "identifier", {"value": IDENTIFIER})
    SubElement(root, "version", {"value": version})
    SubElement(
        SubElement(root, "dependencies"),
        "l:LibreOffice-minimal-version",
        {"value": oldest_office, "d:name": f"LibreOffice {oldest_office} or newer"},
    )
    SubElement(SubElement(root, "display-name"), "name", {"lang": LANGUAGE}).text = "growcells"
    return _document(root)


def manifest() -> str:
    """META-INF/manifest.xml: what each file of the extension is."""
    root = Element("manifest:manifest", {"xmlns:manifest": "http://openoffice.org/2001/manifest"})
    for path, media_type in (
        (TYPES_FILE, "application/vnd.sun.star.uno-typelibrary;type=RDB"),
        (COMPONENTS_FILE, "application/vnd.sun.star.uno-components"),
        (CONFIGURATION_FILE, "application/vnd.sun.star.configuration-data"),
        (EVENTS_FILE, "application/vnd.sun.star.configuration-data"),
        (f"{BASIC_LIBRARY}/", "application/vnd.sun.star.basic-library"),
    ):
        SubElement(root, "manifest:file-entry", {"manifest:media-type": media_type, "manifest:full-path": path})
    return _document(root)


def _configuration_root(name: str) -> Element:
    return Element(
        "oor:component-data",
        {
            "xmlns:oor": "http://openoffice.org/2001/registry",
            "oor:name": name,
            "oor:package": "org.openoffice.Office",
        },
    )


def _node(parent: Element, name: str) -> Element:
    return SubElement(parent, "node", {"oor:name": name})


def _entry(parent: Element, name: str) -> Element:
    """An entry of a set, which takes the place of any other of its name."""
    return SubElement(parent, "node", {"oor:name": name, "oor:op": "replace"})


def _property(parent: Element, name: str) -> Element:
    return SubElement(parent, "prop", {"oor:name": name})


def _translated(parent: Element, name: str, text: str) -> None:
    SubElement(_property(parent, name), "value", {"xml:lang": LANGUAGE}).text = text


def _document(root: Element) -> str:
    indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"
