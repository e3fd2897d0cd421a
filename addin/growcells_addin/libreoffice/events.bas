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
Const LOOKED_AT = 200  ' formulas in a sheet; ours

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

' Whether a file is a workbook with a formula that calls a function of ours.
Function HoldsFunctions(model As Object) As Boolean
	Dim index As Long, formulas As Object, search As Object
	HoldsFunctions = False
	If Not model.supportsService("com.sun.star.sheet.SpreadsheetDocument") Then Exit Function
	For index = 0 To model.Sheets.getCount() - 1
		formulas = model.Sheets.getByIndex(index).queryFormulaCells(ALL_RESULTS)
		If MayHold(formulas) Then
			search = formulas.createSearchDescriptor()
			search.setSearchString("GROW_")
			If Not IsNull(formulas.findFirst(search)) Then
				HoldsFunctions = True
				Exit Function
			End If
		End If
	Next
End Function

' Whether one of these formulas may call a function of ours. A search writes out each formula, which in a long log takes
' a tenth of the time that opening takes; here one of those that are alike is looked at. Where few are, the search tells.
Function MayHold(formulas As Object) As Boolean
	Dim waiting As Object, others As Object, area As Object, column As Long, index As Long, looked As Long
	MayHold = True
	waiting = formulas
	Do While waiting.getCount() > 0
		others = Nothing
		For index = 0 To waiting.getCount() - 1
			area = waiting.getByIndex(index)
			For column = 0 To area.Columns.getCount() - 1
				looked = looked + 1
				If looked > LOOKED_AT Then Exit Function
				If InStr(1, area.getCellByPosition(column, 0).getFormula(), "GROW", 1) > 0 Then Exit Function
			Next
			If area.Rows.getCount() > 1 Then
				others = Joined(others, area.queryColumnDifferences(area.getCellByPosition(0, 0).getCellAddress()))
			End If
		Next
		If IsNull(others) Then Exit Do
		waiting = others
	Loop
	MayHold = False
End Function

' Ranges with others added to them.
Function Joined(ranges As Object, others As Object) As Object
	If IsNull(ranges) Then
		Joined = others
	Else
		ranges.addRangeAddresses(others.getRangeAddresses(), False)
		Joined = ranges
	End If
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
	settings = LoaderSettings()
	' Where LibreOffice brings its own Python it also says where that has its library.
	If settings = "" Or InStr(settings, "PYUNO_LOADER_PYTHONHOME") > 0 Then Exit Function
	first = FirstPython()
	If Environ("PYTHONHOME") = "" And (first = "" Or first = "/usr/bin/python3" Or first = "/bin/python3") Then Exit Function
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
