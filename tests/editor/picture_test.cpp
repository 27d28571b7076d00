// The shader's pixels against the media floor's own conversion.
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <cstdlib>

#include "app/editor/picture_texture.hpp"
#include "app/media/frame_reader.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

// An OpenGL context without a window to be seen.
struct Context {
    Context() {
        setenv("DISPLAY", display.name().c_str(), 1);
        REQUIRE(glfwInit());
        glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
        glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
        glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
        window = glfwCreateWindow(64, 64, "", nullptr, nullptr);
        REQUIRE(window);
        glfwMakeContextCurrent(window);
    }
    ~Context() { glfwTerminate(); }
    VirtualDisplay display{"640x480"};
    GLFWwindow* window = nullptr;
};

int largest_difference(const std::vector<std::uint8_t>& a, const std::vector<std::uint8_t>& b) {
    int most = 0;
    for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::abs(int(a[i]) - int(b[i])));
    return most;
}

}  // namespace

TEST_CASE("What the shader draws is what the media floor converts, within one level") {
    TempFolder folder;
    const Context context;
    struct Row {
        const char *name, *options;
    };
    // 4:4:4 so that no interpolation of colour differs; every matrix, range and depth.
    const Row rows[] = {
        {"709 limited", "-pix_fmt yuv444p -colorspace bt709 -color_range tv"},
        {"709 full", "-pix_fmt yuv444p -colorspace bt709 -color_range pc"},
        {"601 limited", "-pix_fmt yuv444p -colorspace smpte170m -color_range tv"},
        {"601 full", "-pix_fmt yuv444p -colorspace smpte170m -color_range pc"},
        {"10 bit", "-pix_fmt yuv444p10le -colorspace bt709 -color_range tv"},
    };
    for (const auto& row : rows) {
        const fs::path file = make_media(folder / "c.mkv", std::string("-f lavfi -i \"gradients=s=96x64:c0=0x204080:c1=0xe0b040:c2=0x903020:n=3:d=1:speed=0.00001:r=5,format=gbrp\" -vf scale=out_range=auto -c:v ffv1 ") + row.options);
        auto reader = media::FrameReader::open(file);
        REQUIRE(reader.ok());
        auto picture = reader->next();
        REQUIRE((picture.ok() && picture->has_value()));
        media::RgbConverter converter;
        for (const Rotation r : {Rotation::none, Rotation::quarter, Rotation::half, Rotation::three_quarters}) {
            auto expected = converter.convert(**picture, r);
            REQUIRE(expected.ok());
            editor::PictureTexture texture;
            REQUIRE(texture.show(**picture, r));
            INFO(row.name << ", turned by " << static_cast<int>(r));
            CHECK(texture.size() == expected->size);
            CHECK(largest_difference(texture.pixels(), expected->pixels) <= 1);
        }
    }
}

TEST_CASE("Flat 4:2:0 and 4:2:2 pictures, and formats the card does not take, come out the same, too") {
    TempFolder folder;
    const Context context;
    for (const char* format : {"yuv420p", "yuv422p", "yuvj420p", "yuv420p10le", "rgb24", "gray"}) {
        const fs::path file = make_media(folder / "f.nut", std::string("-f lavfi -i \"color=c=0xb06848:s=64x48:d=1:r=5\" -c:v rawvideo -pix_fmt ") + format);
        auto reader = media::FrameReader::open(file);
        REQUIRE(reader.ok());
        auto picture = reader->next();
        REQUIRE((picture.ok() && picture->has_value()));
        media::RgbConverter converter;
        auto expected = converter.convert(**picture, Rotation::none);
        editor::PictureTexture texture;
        INFO(format);
        REQUIRE(texture.show(**picture, Rotation::none));
        CHECK(largest_difference(texture.pixels(), expected->pixels) <= 1);
    }
}
