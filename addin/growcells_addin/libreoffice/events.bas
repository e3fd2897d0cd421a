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
Const LOADED = "GROWCELLS_LOADED"  ' as in component.py
Const FITS = "fits"
Const SYSTEM_PYTHONS = "/usr/bin/python3:/bin/python3:/usr/sbin/python3:/sbin/python3:"
Const ALL_RESULTS = 7  ' com.sun.star.sheet.FormulaResult: VALUE, STRING and ERROR
Const LOOKED_AT = 200  ' formulas for each sheet; ours
Const LAST_COLUMN = 16383  ' of a sheet of LibreOffice 7.4 and newer, counted from 0
Const LAST_ROW = 1048575

Global doubted As Boolean  ' whether something spoke against Python when LibreOffice started

' LibreOffice has started and opened nothing yet. Where nothing speaks against its Python nothing is tried.
Sub Started(Optional event As Variant)
	On Error GoTo Leave
	doubted = Doubtful()
	If Not doubted Then Exit Sub  ' Basic's And would ask both
	If WhyNot() <> FITS Then GetProcessServiceManager().remove(COMPONENT)
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
	Sentence = WhyNot()
	If Sentence <> "" And Sentence <> FITS Then Exit Function
	Sentence = "LibreOffice could not start its own Python, so that GROW_ formulas keep their stored values or show an error. " & _
		"Close LibreOffice and start it from the menu of applications."
End Function

' Whether a file is a workbook with a formula that calls a function of ours. Of each kind of object that it meets, Basic
' first looks through all types, which for a sheet or a cell takes as long as opening a small workbook. Hence few kinds.
Function HoldsFunctions(model As Object) As Boolean
	Dim every As Object, formulas As Object, search As Object, index As Long
	Dim sheet As New com.sun.star.table.CellRangeAddress
	HoldsFunctions = False
	If Not HasUnoInterfaces(model, "com.sun.star.sheet.XSpreadsheetDocument") Then Exit Function
	' LibreOffice loads the functions as soon as it reads a formula or a name that calls one, unless they rest. What is left
	' are calls of an add-in file, for which it starts nothing; each makes a link.
	If Environ(LOADED) = "" And Not doubted Then
		If Not model.ExternalDocLinks.hasElements() Then Exit Function
	End If
	every = Ranges(model)
	sheet.EndColumn = LAST_COLUMN
	sheet.EndRow = LAST_ROW
	For index = 0 To model.Sheets.getCount() - 1
		sheet.Sheet = index
		every.addRangeAddress(sheet, False)
	Next
	formulas = every.queryFormulaCells(ALL_RESULTS)
	If formulas.getCount() = 0 Then Exit Function
	HoldsFunctions = NameHolds(model.NamedRanges)
	For index = 0 To model.Sheets.getCount() - 1
		If Not HoldsFunctions Then HoldsFunctions = NameHolds(model.Sheets.getByIndex(index).NamedRanges)
	Next
	If HoldsFunctions Or Not MayHold(model, formulas) Then Exit Function
	search = formulas.createSearchDescriptor()
	search.setSearchString("GROW_")
	If IsNull(formulas.findFirst(search)) Then Exit Function
	' A sheet or a name may be called so as well.
	search.SearchRegularExpression = True
	search.setSearchString("GROW_\w+\(")
	formulas = formulas.findAll(search)
	If Not IsNull(formulas) Then HoldsFunctions = MayHold(model, formulas)
End Function

' Whether one of these names stands for a call of a function of ours, which formulas that use it do not show.
Function NameHolds(names As Object) As Boolean
	Dim name As Variant
	NameHolds = True
	For Each name In names.getElementNames()
		If InStr(1, names.getByName(name).getContent(), FUNCTIONS & ".", 1) > 0 Then Exit Function
	Next
	NameHolds = False
End Function

' Whether one of these formulas calls a function of ours, or too many differ to tell. A search goes through each of them,
' which in a long log takes a tenth of the time that opening takes; here one of those that are alike is looked at.
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
				If InStr(1, formula, FUNCTIONS & ".", 1) + InStr(1, formula, "]!GROW_", 1) > 0 Then Exit Function
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

' Whether what a shell can set may lead LibreOffice's Python astray: Python's variables with which it may not start (its
' documentation, Environment variables), or another first python3 than the system's.
Function Doubtful() As Boolean
	Dim name As Variant, first As String
	Doubtful = True
	On Error GoTo Leave
	For Each name In Array("HOME", "PATH", "PLATLIBDIR", "USERBASE", "HASHSEED", "INTMAXSTRDIGITS", "IOENCODING", "MALLOC", _
		"TRACEMALLOC", "UTF8", "WARNINGS", "DEVMODE", "_FROZEN_MODULES", "_GIL", "_CPU_COUNT")
		If Environ("PYTHON" & name) <> "" Then Exit Function
	Next
	first = FirstPython()
	Doubtful = first <> "" And InStr(SYSTEM_PYTHONS, first & ":") = 0
Leave:
End Function

' The first python3 of the path, whose names may be relative to the folder in which LibreOffice was started.
Function FirstPython() As String
	Dim folder As Variant, first As String
	FirstPython = ""
	If Environ("PATH") = "" Then Exit Function
	For Each folder In Split(Environ("PATH"), ":")
		first = folder & "/python3"
		If Left(first, 1) <> "/" Or folder = "" Then first = CurDir() & "/" & first
		If FileExists(first) Then
			FirstPython = first
			Exit Function
		End If
	Next
End Function

' What a program says that tries what LibreOffice would do: that it fits or, in a sentence, why not and how to start
' LibreOffice instead. Nothing where it cannot be tried, which does not fit either.
Function WhyNot() As String
	Dim settings As String, answer As Object, handle As Integer, row As String
	WhyNot = ""
	On Error GoTo Leave
	settings = LoaderSettings()
	' Where LibreOffice brings its own Python it also says where that has its library.
	If settings = "" Or InStr(settings, "PYUNO_LOADER_PYTHONHOME") > 0 Then
		WhyNot = FITS
		Exit Function
	End If
	answer = CreateUnoService("com.sun.star.io.TempFile")
	Shell(SystemPython(settings), 0, "-I -S " & Quoted(Probe()) & " " & Quoted(ProgramFolder()) & " " & _
		Quoted(ConvertFromURL(answer.Uri)), True)
	handle = FreeFile()
	Open answer.Uri For Input As #handle
	If Not EOF(handle) Then Line Input #handle, row
	Close #handle
	WhyNot = row
Leave:
End Function

Function ProgramFolder() As String
	Dim expander As Object
	expander = GetDefaultContext().getValueByName("/singletons/com.sun.star.util.theMacroExpander")
	ProgramFolder = expander.expandMacros("$BRAND_BASE_DIR/program")
End Function

' The text of the file that leads LibreOffice to its Python, or nothing.
Function LoaderSettings() As String
	Dim url As String, handle As Integer, row As String
	LoaderSettings = ""
	url = ProgramFolder() & "/pythonloader.unorc"
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
