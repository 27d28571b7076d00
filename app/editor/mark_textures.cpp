#include "app/editor/mark_textures.hpp"

#include <epoxy/gl.h>

#include <cmath>
#include <vector>

#include "export/marks.hpp"

namespace canalogue::editor {

MarkTextures& marks() {
    static MarkTextures the;
    return the;
}

MarkTextures::~MarkTextures() = default;  // the context goes first, and all textures with it

unsigned MarkTextures::texture(const Symbol& symbol, int pixels) {
    const std::string key = symbol.shape + symbol.letter + symbol.colour + std::to_string(pixels);
    if (const auto it = made_.find(key); it != made_.end()) return it->second;
    film::Canvas canvas({pixels, pixels});
    film::draw_mark(canvas, pixels / 2.0, pixels / 2.0, pixels * 0.82, symbol);
    unsigned name = 0;
    glGenTextures(1, &name);
    glBindTexture(GL_TEXTURE_2D, name);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, canvas.stride() / 4);
    // Cairo's colours are multiplied by their alpha; ImGui blends plain ones.
    const auto* from = canvas.pixels();
    std::vector<unsigned char> plain(static_cast<std::size_t>(canvas.stride()) * static_cast<std::size_t>(pixels));
    for (std::size_t i = 0; i + 3 < plain.size(); i += 4) {
        const int a = from[i + 3];
        for (std::size_t c = 0; c < 3; ++c) plain[i + c] = static_cast<unsigned char>(a ? std::min(255, from[i + c] * 255 / a) : 0);
        plain[i + 3] = static_cast<unsigned char>(a);
    }
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, pixels, pixels, 0, GL_BGRA, GL_UNSIGNED_BYTE, plain.data());
    glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
    for (GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, GL_LINEAR);
    return made_[key] = name;
}

void MarkTextures::draw(ImDrawList* on, ImVec2 at, float size, const Symbol& symbol, float alpha) {
    const int pixels = std::max(12, static_cast<int>(std::lround(size / 0.82f)));
    const float half = static_cast<float>(pixels) / 2;
    const ImVec2 corner{std::floor(at.x - half), std::floor(at.y - half)};
    on->AddImage(reinterpret_cast<ImTextureID>(static_cast<std::intptr_t>(texture(symbol, pixels))), corner, {corner.x + 2 * half, corner.y + 2 * half}, {0, 0}, {1, 1},
                 IM_COL32(255, 255, 255, static_cast<int>(255 * alpha)));
}

}  // namespace canalogue::editor
