"""A Python add-in for LibreOffice whose one function does nothing: the least that such a call can cost."""

from __future__ import annotations

import os
import subprocess
import tempfile
import zipfile
from pathlib import Path

from growcells_addin.libreoffice.program import Office, clean_environment, profile_options

NAME = "EMPTY_CALL"
SECONDS = 120

COMPONENT = """
import uno
import unohelper

Interface = uno.getClass("growcellsbenchmark.XEmpty")
ServiceInfo = uno.getClass("com.sun.star.lang.XServiceInfo")


class Empty(unohelper.Base, Interface, ServiceInfo):
    def __init__(self, context):
        pass

    def empty(self, *cells):
        return ((0.0,),)

    def getImplementationName(self):
        return "growcellsbenchmark.Empty"

    def supportsService(self, name):
        return name == "growcellsbenchmark.Functions"

    def getSupportedServiceNames(self):
        return ("growcellsbenchmark.Functions",)


g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(Empty, "growcellsbenchmark.Empty", ("growcellsbenchmark.Functions",))
"""
PARAMETERS = ("one", "two", "three", "four", "five")
"""As many as GROW_VOLUME_BOX has."""
TYPES = (
    "module growcellsbenchmark { interface XEmpty { sequence< sequence<any> > empty("
    + ", ".join(f"[in] any {name}" for name in PARAMETERS)
    + "); }; };"
)
COMPONENTS = """<?xml version="1.0" encoding="UTF-8"?>
<components xmlns="http://openoffice.org/2010/uno-components">
  <component loader="com.sun.star.loader.Python" uri="empty.py">
    <implementation name="growcellsbenchmark.Empty"><service name="growcellsbenchmark.Functions"/></implementation>
  </component>
</components>
"""
CONFIGURATION = f"""<?xml version="1.0" encoding="UTF-8"?>
<oor:component-data xmlns:oor="http://openoffice.org/2001/registry" oor:name="CalcAddIns"
    oor:package="org.openoffice.Office">
  <node oor:name="AddInInfo"><node oor:name="growcellsbenchmark.Functions" oor:op="replace">
    <node oor:name="AddInFunctions"><node oor:name="empty" oor:op="replace">
      <prop oor:name="DisplayName"><value xml:lang="en">{NAME}</value></prop>
      <prop oor:name="Description"><value xml:lang="en">Does nothing.</value></prop>
      <prop oor:name="Category"><value>Add-In</value></prop>
      <prop oor:name="CompatibilityName"><value xml:lang="en">{NAME}</value></prop>
      <node oor:name="Parameters">
        {"".join(f'<node oor:name="{name}" oor:op="replace"/>' for name in PARAMETERS)}
      </node>
    </node></node>
  </node></node>
</oor:component-data>
"""
MANIFEST = """<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">
  <manifest:file-entry manifest:full-path="empty.idl"
      manifest:media-type="application/vnd.sun.star.uno-typelibrary;type=RDB"/>
  <manifest:file-entry manifest:full-path="empty.components"
      manifest:media-type="application/vnd.sun.star.uno-components"/>
  <manifest:file-entry manifest:full-path="CalcAddIns.xcu"
      manifest:media-type="application/vnd.sun.star.configuration-data"/>
</manifest:manifest>
"""


def install_empty_addin(office: Office, profile: Path) -> None:
    """Put the add-in into a LibreOffice that keeps everything in this profile folder."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
        extension = Path(folder, "empty.oxt")
        with zipfile.ZipFile(extension, "w") as archive:
            for name, text in (
                ("META-INF/manifest.xml", MANIFEST),
                ("empty.idl", TYPES),
                ("empty.components", COMPONENTS),
                ("CalcAddIns.xcu", CONFIGURATION),
                ("empty.py", COMPONENT),
            ):
                archive.writestr(name, text)
        shared = ["--shared"] if os.name != "nt" and os.geteuid() == 0 else []
        subprocess.run(
            [office.unopkg, "add", *shared, extension, *profile_options(profile)],
            check=True,
            capture_output=True,
            timeout=SECONDS,
            env=clean_environment() | {"TMPDIR": folder},
        )
