"""Measurements on paper and in the build file: sheets, their way back, history, audit, samples."""
