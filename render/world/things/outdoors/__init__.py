"""Things of places under the open sky: beaches, harbours, pistes, pitches, yards, fairs."""
