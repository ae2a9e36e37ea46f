"""Images on faces, as pure computation: no Django here."""
