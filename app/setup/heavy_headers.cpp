// Nothing: its precompiled headers are what the other targets use (see floors.cmake).
