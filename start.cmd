@echo off
rem Double click on Windows: prepares Nervure once and makes the demo in demo\.
cd /d "%~dp0"
where py >nul 2>nul && (py -3 tools\tasks.py demo) || (python tools\tasks.py demo)
if exist demo\out\index.html start "" demo\out\index.html
pause
