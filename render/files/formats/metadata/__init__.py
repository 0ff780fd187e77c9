"""What a picture file says beside its pixels: EXIF, TIFF tags, XMP, panoramas, orientation."""
