' What LibreOffice itself does with growcells, in its own Basic: started and opening a file, it needs no Python for this.
'
' On Linux distributions LibreOffice runs the system's Python, and that looks for its library beside the first python3 of
' the path. Where that is another's (an activated environment, conda, pyenv), LibreOffice would end abnormally as soon as
' it loads the cell functions. Then they rest: LibreOffice does not find them, and a workbook that holds them says why.
'
' Nothing may escape from here: whatever goes wrong, LibreOffice starts and a file opens as it always did.

Option Explicit

Const COMPONENT = "growcells.Component"
Const FUNCTIONS = "growcells.Functions"
Const OPENING = "growcells.Opening"
Const EXTENSION = "org.growcells"
Const ALL_RESULTS = 7  ' com.sun.star.sheet.FormulaResult: VALUE, STRING and ERROR
Const LOOKED_AT = 200  ' formulas for each sheet; ours
Const LAST_COLUMN = 16383  ' of a sheet of LibreOffice 7.4 and newer, counted from 0
Const LAST_ROW = 1048575

' LibreOffice has started and opened nothing yet.
Sub Started(Optional event As Variant)
	On Error GoTo Leave
	If Not PythonFits() Then GetProcessServiceManager().remove(COMPONENT)
Leave:
End Sub

' LibreOffice has read a file and shows nothing of it yet.
Sub Opened(Optional event As Variant)
	On Error GoTo Leave
	If Not HoldsFunctions(event.Source) Then Exit Sub
	If Resting() Then
		event.Source.addDocumentEventListener(CreateUnoListener("Told_", "com.sun.star.document.XDocumentEventListener"))
	Else
		CreateUnoService(OPENING).execute(Array(Named("Model", event.Source)))
	End If
Leave:
End Sub

' A workbook that holds functions while they rest is shown.
Sub Told_documentEventOccured(event As Variant)
	On Error GoTo Leave
	If event.EventName <> "OnViewCreated" Then Exit Sub
	event.ViewController.appendInfobar(EXTENSION, "growcells is resting.", Sentence(), _
		com.sun.star.frame.InfobarType.WARNING, Array(), True)
Leave:
End Sub

Sub Told_disposing(event As Variant)
End Sub

Function Sentence() As String
	Sentence = "LibreOffice was started where " & FirstPython() & " is the first python3, which its own Python cannot use, " & _
		"so that GROW_ formulas keep their stored values or show an error. Close LibreOffice and start it from the menu of " & _
		"applications, or so: PATH=/usr/bin:$PATH soffice"
End Function

' Whether a file is a workbook with a formula that calls a function of ours. Of each kind of object that it meets, Basic
' first looks through all types, which for a sheet or a cell takes as long as opening a small workbook. Hence few kinds.
Function HoldsFunctions(model As Object) As Boolean
	Dim every As Object, formulas As Object, search As Object, index As Long
	Dim sheet As New com.sun.star.table.CellRangeAddress
	HoldsFunctions = False
	If Not HasUnoInterfaces(model, "com.sun.star.sheet.XSpreadsheetDocument") Then Exit Function
	every = Ranges(model)
	sheet.EndColumn = LAST_COLUMN
	sheet.EndRow = LAST_ROW
	For index = 0 To model.Sheets.getCount() - 1
		sheet.Sheet = index
		every.addRangeAddress(sheet, False)
	Next
	formulas = every.queryFormulaCells(ALL_RESULTS)
	If formulas.getCount() = 0 Then Exit Function
	If Not MayHold(model, formulas) Then Exit Function
	search = formulas.createSearchDescriptor()
	search.setSearchString("GROW_")
	HoldsFunctions = Not IsNull(formulas.findFirst(search))
End Function

' Whether one of these formulas may call a function of ours. A search goes through each of them, which in a long log takes
' a tenth of the time that opening takes; here one of those that are alike is looked at. Where few are, the search tells.
Function MayHold(model As Object, formulas As Object) As Boolean
	Dim sheets As Object, waiting As Object, others As Object, place As Variant, row As Variant, formula As Variant
	Dim looked As Long, most As Long
	MayHold = True
	sheets = model.Sheets
	most = LOOKED_AT * sheets.getCount()
	waiting = formulas
	Do While waiting.getCount() > 0
		If looked + waiting.getCount() > most Then Exit Function
		others = Ranges(model)
		For Each place In waiting.getRangeAddresses()
			looked = looked + place.EndColumn - place.StartColumn + 1
			If looked > most Then Exit Function
			row = sheets.getCellRangeByPosition(place.StartColumn, place.StartRow, place.EndColumn, place.StartRow, place.Sheet)
			For Each formula In row.getFormulaArray()(0)
				If InStr(1, formula, "GROW", 1) > 0 Then Exit Function
			Next
			If place.EndRow > place.StartRow Then others.addRangeAddresses(UnlikeFirst(model, place), False)
		Next
		waiting = others
	Loop
	MayHold = False
End Function

' Where the cells of a range are that are not like the one in its first row.
Function UnlikeFirst(model As Object, place As Variant) As Variant
	Dim area As Object, first As New com.sun.star.table.CellAddress
	area = Ranges(model)
	area.addRangeAddress(place, False)
	first.Sheet = place.Sheet
	first.Column = place.StartColumn
	first.Row = place.StartRow
	UnlikeFirst = area.queryColumnDifferences(first).getRangeAddresses()
End Function

Function Ranges(model As Object) As Object
	Ranges = model.createInstance("com.sun.star.sheet.SheetCellRanges")
End Function

' Whether LibreOffice does not find the functions.
Function Resting() As Boolean
	Dim found As Object
	found = GetProcessServiceManager().createContentEnumeration(FUNCTIONS)
	Resting = True
	If Not IsNull(found) Then Resting = Not found.hasMoreElements()
End Function

' Whether LibreOffice can start its Python here. Where the system's comes first nothing is asked of anybody.
Function PythonFits() As Boolean
	Dim settings As String, first As String, answer As Object
	PythonFits = True
	first = FirstPython()
	If Environ("PYTHONHOME") = "" And (first = "" Or first = "/usr/bin/python3" Or first = "/bin/python3") Then Exit Function
	settings = LoaderSettings()
	' Where LibreOffice brings its own Python it also says where that has its library.
	If settings = "" Or InStr(settings, "PYUNO_LOADER_PYTHONHOME") > 0 Then Exit Function
	PythonFits = False
	On Error Resume Next  ' what cannot be tried does not fit
	answer = CreateUnoService("com.sun.star.io.TempFile")
	Shell(SystemPython(settings), 0, Quoted(Probe()) & " " & Quoted(ConvertFromURL(answer.Uri)), True)
	PythonFits = FileLen(answer.Uri) > 0
End Function

' The first python3 of the path.
Function FirstPython() As String
	Dim folder As Variant
	FirstPython = ""
	For Each folder In Split(Environ("PATH"), ":")
		If folder <> "" Then
			If FileExists(folder & "/python3") Then
				FirstPython = folder & "/python3"
				Exit Function
			End If
		End If
	Next
End Function

' The text of the file that leads LibreOffice to its Python, or nothing.
Function LoaderSettings() As String
	Dim expander As Object, url As String, handle As Integer, row As String
	LoaderSettings = ""
	expander = GetDefaultContext().getValueByName("/singletons/com.sun.star.util.theMacroExpander")
	url = expander.expandMacros("$BRAND_BASE_DIR/program/pythonloader.unorc")
	If Not FileExists(url) Then Exit Function
	handle = FreeFile()
	Open url For Input As #handle
	Do While Not EOF(handle)
		Line Input #handle, row
		LoaderSettings = LoaderSettings & row & Chr(10)
	Loop
	Close #handle
End Function

' The Python of the system that LibreOffice was built for.
Function SystemPython(settings As String) As String
	Dim start As Long, length As Long
	SystemPython = "/usr/bin/python3"
	start = InStr(settings, "python3.")
	If start = 0 Then Exit Function
	length = Len("python3.")
	Do While Mid(settings, start + length, 1) >= "0" And Mid(settings, start + length, 1) <= "9"
		length = length + 1
	Loop
	If FileExists("/usr/bin/" & Mid(settings, start, length)) Then SystemPython = "/usr/bin/" & Mid(settings, start, length)
End Function

' The program that tries what LibreOffice would do.
Function Probe() As String
	Dim packages As Object
	packages = GetDefaultContext().getValueByName("/singletons/com.sun.star.deployment.PackageInformationProvider")
	Probe = ConvertFromURL(packages.getPackageLocation(EXTENSION) & "/probe.py")
End Function

Function Quoted(text As String) As String
	Quoted = """" & text & """"
End Function

Function Named(name As String, value As Variant) As Variant
	Dim made As New com.sun.star.beans.NamedValue
	made.Name = name
	made.Value = value
	Named = made
End Function
