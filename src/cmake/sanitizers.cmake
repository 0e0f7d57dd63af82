# SPDX-License-Identifier: GPL-3.0-or-later
set(CRADLEWRIGHT_SANITIZE "" CACHE STRING "Sanitizers to build with, e.g. address,undefined")
if(CRADLEWRIGHT_SANITIZE)
  # GCC's manual says that -fsanitize makes -Wmaybe-uninitialized report falsely; the release build keeps it.
  target_compile_options(cradlewright_warnings INTERFACE
    $<$<CXX_COMPILER_ID:GNU>:-Wno-maybe-uninitialized>
    -fsanitize=${CRADLEWRIGHT_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(cradlewright_warnings INTERFACE -fsanitize=${CRADLEWRIGHT_SANITIZE})
endif()
