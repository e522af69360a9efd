"""The bundled jobs: data only."""
